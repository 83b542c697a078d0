// Small things every page needs: light or dark, and errors of parts of a page said on it.

const root = document.documentElement;
const wanted = localStorage.getItem("galleyproof-light");
if (wanted === "light" || wanted === "dark") root.dataset.light = wanted;

document.getElementById("light-switch")?.addEventListener("click", () => {
  const dark = root.dataset.light
    ? root.dataset.light === "dark"
    : matchMedia("(prefers-color-scheme: dark)").matches;
  root.dataset.light = dark ? "light" : "dark";
  localStorage.setItem("galleyproof-light", root.dataset.light);
});

// On a narrow screen the steps stand in a row that scrolls: the present one must be in sight.
const row = document.querySelector("nav.order");
const here = row?.querySelector("a[aria-current]");
if (here && row.scrollWidth > row.clientWidth) {
  const [all, one] = [row.getBoundingClientRect(), here.getBoundingClientRect()];
  // half of what is left over on either side; the page itself stays where it is
  row.scrollLeft += one.left - all.left - (all.width - one.width) / 2;
}

function note(title, words) {
  const box = document.createElement("div");
  box.className = "note bad";
  box.setAttribute("role", "alert");
  const strong = document.createElement("strong");
  strong.textContent = `${title}. `;
  box.append(strong, words);
  document.getElementById("notes")?.append(box);
  return box;
}

document.body.addEventListener("htmx:sendError", () => {
  note("No answer", "The office did not answer; what you typed is still here. Try again when it does.");
});

// A click takes a note away.
document.getElementById("notes")?.addEventListener("click", (event) => {
  event.target.closest(".note")?.remove();
});
