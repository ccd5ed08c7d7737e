// Puts what a field holds on the clipboard. Without it the field is copied from by hand, so its
// button stays hidden.

for (const button of document.querySelectorAll("[data-copy]")) {
  const field = document.getElementById(button.dataset.copy);
  button.hidden = false;
  button.addEventListener("click", async () => {
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
    } catch {
      // A page without HTTPS has no clipboard: the address stays chosen, for the keys to copy.
      button.textContent = "Now copy what is chosen";
      field.focus();
      field.select();
      return;
    }
    button.textContent = "Copied";
  });
}
