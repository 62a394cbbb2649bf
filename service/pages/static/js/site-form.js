// Shows a workshop's form in a site's own page: <script src="…/site-form.js" data-workshop="…" data-model="…" async></script>
// What happens in the form is told as events "slatproof-ready", "slatproof-order" and "slatproof-signed" at the form's frame.
const tag = document.currentScript;
const home = new URL(tag.src).origin;
const { workshop, model, title } = tag.dataset;

const frame = document.createElement("iframe");
frame.src = `${home}/at/${[workshop, model].filter(Boolean).map(encodeURIComponent).join("/")}`;
frame.title = title || "Order form";
frame.allow = "camera";
frame.style.cssText = "display:block;width:100%;border:0;height:600px";

const aside = document.createElement("a");
aside.href = frame.src;
aside.target = "_blank";
aside.rel = "noopener";
aside.textContent = tag.dataset.aside || "Open the form in a tab of its own";

// Each page of the form is greeted, and answers whoever greeted it: only sites that the workshop named may frame it.
frame.addEventListener("load", () => frame.contentWindow.postMessage({ slatproof: "hello" }, home));
addEventListener("message", (event) => {
  if (event.origin !== home || event.source !== frame.contentWindow || !event.data?.slatproof) return;
  const { slatproof: said, ...detail } = event.data;
  if (said === "size") frame.style.height = `${Math.ceil(detail.height)}px`;
  else frame.dispatchEvent(new CustomEvent(`slatproof-${said}`, { bubbles: true, detail }));
});

tag.after(frame, aside);
