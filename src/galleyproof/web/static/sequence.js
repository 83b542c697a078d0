// One more line of a form: a copy of the last one, empty.

for (const button of document.querySelectorAll(".one-more")) {
  button.addEventListener("click", () => {
    const lines = button.parentElement.querySelectorAll(".line");
    const made = lines[lines.length - 1].cloneNode(true);
    for (const field of made.querySelectorAll("select, input")) {
      const old = field.id;
      field.id = old.replace(/\d+$/, String(lines.length));
      made.querySelector(`label[for="${old}"]`)?.setAttribute("for", field.id);
      field.value = "";
    }
    for (const label of made.querySelectorAll("label")) {
      label.textContent = label.textContent.replace(/\d+$/, String(lines.length + 1));
    }
    button.before(made);
    made.querySelector("select, input").focus();
  });
}
