// Dropping or pasting a file anywhere on the page puts it into the page's file field.

export function takeDrops(input, zone) {
  if (!input) return;
  const give = (files) => {
    if (!files || files.length === 0) return;
    const one = new DataTransfer();
    one.items.add(files[0]);
    input.files = one.files;
    input.dispatchEvent(new Event("change", { bubbles: true }));
  };
  zone.addEventListener("dragover", (event) => {
    if (![...event.dataTransfer.types].includes("Files")) return;
    event.preventDefault();
    document.body.classList.add("dropping");
  });
  zone.addEventListener("dragleave", (event) => {
    if (event.relatedTarget === null) document.body.classList.remove("dropping");
  });
  zone.addEventListener("drop", (event) => {
    document.body.classList.remove("dropping");
    if (event.dataTransfer.files.length === 0) return;
    event.preventDefault();
    give(event.dataTransfer.files);
  });
  document.addEventListener("paste", (event) => {
    if (event.target.matches?.("input, textarea")) return;
    give(event.clipboardData?.files);
  });
}

export function nameOf(file) {
  const size = file.size < 1e6 ? `${Math.max(1, Math.round(file.size / 1e3))} kB` : `${(file.size / 1e6).toFixed(1)} MB`;
  return `${file.name} (${size})`;
}
