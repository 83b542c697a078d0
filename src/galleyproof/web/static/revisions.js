// Marked sheets can be moved and sized; which one is open is said in the list.

import { SheetView } from "./sheet-view.js";

function open() {
  const host = document.querySelector("#marked .viewer");
  if (host && !host.dataset.open) {
    host.dataset.open = "yes";
    new SheetView(host);
  }
}

document.body.addEventListener("htmx:afterSwap", open);
document.body.addEventListener("htmx:beforeRequest", (event) => {
  const link = event.target.closest?.(".marked-list a");
  if (!link) return;
  for (const other of document.querySelectorAll(".marked-list a")) other.removeAttribute("aria-current");
  link.setAttribute("aria-current", "true");
});
