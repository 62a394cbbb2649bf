import { keepForms } from "./keep.js";
import { followOrder } from "./live.js";
import { lightMarks } from "./marks.js";
import { keepAskingForPictures } from "./pictures.js";
import { uploadsWithProgress } from "./upload.js";

keepForms();
lightMarks();
keepAskingForPictures();
const carvings = document.querySelector("#carvings");
if (carvings) {
  uploadsWithProgress(carvings.dataset.order);
  followOrder(carvings.dataset.order, Number(carvings.dataset.activity));
}
