// A picture that a busy workshop could not draw in time is asked for again, with growing waits, instead of staying broken.

const WAITS_MS = [2000, 4000, 8000, 16000];
const tried = new WeakMap();

function again(picture) {
  const times = tried.get(picture) ?? 0;
  if (times >= WAITS_MS.length) return;
  tried.set(picture, times + 1);
  const name = picture instanceof HTMLImageElement ? "src" : "href";
  const address = picture.getAttribute(name).split("#")[0];
  // A browser does not ask twice for what failed once, unless it is called otherwise; the mark is not sent.
  setTimeout(() => picture.setAttribute(name, `${address}#${times + 1}`), WAITS_MS[times]);
}

export function keepAskingForPictures() {
  document.addEventListener("error", (event) => {
    if (event.target.matches?.("img, image")) again(event.target);
  }, true);
  for (const picture of document.images) if (picture.src && picture.complete && picture.naturalWidth === 0) again(picture);
}
