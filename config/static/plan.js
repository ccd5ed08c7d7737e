// The plan's page: the form is worked out as it is typed (htmx); this keeps what is open open,
// lays what is wrong beside its field, and says so when no answer comes.

const form = document.getElementById("plan");
const noAnswer = document.getElementById("plan-no-answer");
const results = () => document.getElementById("plan-results");
const nameOf = (figure) => figure.closest("section")?.querySelector("h3, h2")?.textContent
  + "|" + figure.closest("tr")?.firstElementChild?.textContent
  + "|" + figure.querySelector(".figure-name")?.textContent;

let open = new Set();

function layErrors() {
  for (const field of form.querySelectorAll(".field.has-error")) {
    field.classList.remove("has-error");
    field.querySelector(".errorlist")?.remove();
    field.querySelector("[aria-invalid]")?.removeAttribute("aria-invalid");
  }
  for (const line of results().querySelectorAll("[data-field]")) {
    const entry = document.getElementById(line.dataset.field);
    const field = entry?.closest(".field");
    if (!field || !form.contains(field)) continue;
    let list = field.querySelector(".errorlist");
    if (!list) {
      list = document.createElement("ul");
      list.className = "errorlist";
      list.id = `${line.dataset.field}_error`;
      field.querySelector(".entry-line").after(list);
    }
    const item = document.createElement("li");
    item.textContent = line.querySelector("span").textContent;
    list.append(item);
    field.classList.add("has-error");
    entry.setAttribute("aria-invalid", "true");
  }
}

function silent() {
  noAnswer.hidden = false;
}

document.addEventListener("htmx:beforeSwap", (event) => {
  if (!event.detail.xhr.responseText.includes('id="plan-results"')) {
    event.detail.shouldSwap = false;
    silent();
    return;
  }
  noAnswer.hidden = true;
  open = new Set([...results().querySelectorAll("details.figure[open]")].map(nameOf));
});

document.addEventListener("htmx:afterSwap", () => {
  for (const figure of results().querySelectorAll("details.figure")) {
    figure.open = open.has(nameOf(figure));
  }
  document.getElementById("plan-glance").textContent =
    document.getElementById("plan-summary").textContent;
  layErrors();
});

document.addEventListener("htmx:responseError", silent);
document.addEventListener("htmx:sendError", silent);
