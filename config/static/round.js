// Ticking a whole group at once, and how many are ticked. Without it every box is ticked by hand.

const form = document.querySelector("[data-ticks]");

const boxesOf = (group) => [...group.querySelectorAll("input[type=checkbox]")];

const count = () => {
  const ticked = form.querySelectorAll("input[type=checkbox]:checked").length;
  for (const place of form.querySelectorAll("[data-ticked]")) {
    place.textContent = `${ticked} ticked`;
  }
};

const addButton = (group) => {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "as-link";
  button.addEventListener("click", () => {
    const all = boxesOf(group).every((box) => box.checked);
    for (const box of boxesOf(group)) box.checked = !all;
    form.dispatchEvent(new Event("change"));
  });
  group.querySelector("legend").append(button);
  return button;
};

if (form) {
  const groups = [...form.querySelectorAll("[data-tick-group]")];
  const buttons = new Map(groups.map((group) => [group, addButton(group)]));
  const refresh = () => {
    count();
    for (const [group, button] of buttons) {
      const all = boxesOf(group).every((box) => box.checked);
      button.textContent = all ? "Tick none of these" : "Tick all of these";
    }
  };
  form.addEventListener("change", refresh);
  refresh();
}
