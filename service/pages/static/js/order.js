import { takeDrops } from "./drop.js";
import { keepForms } from "./keep.js";
import { followOrder } from "./live.js";
import { lightMarks } from "./marks.js";
import { keepAskingForPictures } from "./pictures.js";
import { zooms } from "./zoom.js";
import { uploadsWithProgress } from "./upload.js";

// What is dropped or pasted anywhere goes to the ticked slats.
takeDrops(document.querySelector("#f-tiles"), document.body);
keepForms();
lightMarks();
zooms();
document.addEventListener("slatproof:renewed", zooms);
keepAskingForPictures();
const carvings = document.querySelector("#carvings");
if (carvings) {
  uploadsWithProgress(carvings.dataset.order);
  followOrder(carvings.dataset.order, Number(carvings.dataset.activity));
}
