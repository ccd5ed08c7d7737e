// The log page with a script: blocks are added in place, members are found as one types, the
// clock is set by one tap, photographs are seen before they are sent. Without it, each of these
// is a button that sends the form and gets the page back.

const form = document.getElementById("log");
const CARRIED_OVER = ["lot", "mixed"];
const NOT_REPEATED = ["used", "waste", "left_over", "abandoned", "notes", "again"];

const copyOf = (name, numbers) => {
  const holder = document.createElement("template");
  let html = document.getElementById(`copy-${name}`).innerHTML;
  for (const [place, number] of Object.entries(numbers)) {
    html = html.replaceAll(`__${place}__`, number);
  }
  holder.innerHTML = html.trim();
  return holder.content.firstElementChild;
};

// One more than the greatest number in use; a block left out never gives its number away.
const nextNumber = (within, pattern) => {
  const numbers = [...within.querySelectorAll("[name]")]
    .map((field) => field.name.match(pattern))
    .filter(Boolean)
    .map((found) => Number(found[1]));
  return Math.max(-1, ...numbers) + 1;
};

// A repair that goes on has stages in the record before these.
const firstNumber = Number(document.getElementById("stages").dataset.first);

const shortName = (field) => field.name.split("-").pop();

const addStage = (focus = true) => {
  const number = nextNumber(form, /^stage-(\d+)-/);
  const stage = copyOf("stage", { stage: number, batch: 0 });
  document.getElementById("stages").append(stage);
  renumber();
  ready(stage);
  if (focus) stage.querySelector("select").focus();
};

const addBatch = (button, repeat) => {
  const stage = button.closest("[data-stage]");
  const place = Number(stage.id.split("-")[1]);
  const list = stage.querySelector("[data-batches]");
  const before = list.lastElementChild;
  const number = nextNumber(list, new RegExp(`^stage-${place}-batch-(\\d+)-`));
  const batch = copyOf("batch", { stage: place, batch: number });
  list.append(batch);
  if (before) carryOver(before, batch, repeat);
  renumber();
  ready(batch);
  const next = batch.querySelector(repeat ? "[name$='-mixed']" : "[name$='-amount']");
  (before ? next : batch.querySelector("select")).focus();
};

const carryOver = (before, batch, repeat) => {
  for (const field of before.querySelectorAll("[name]")) {
    const name = shortName(field);
    const wanted = repeat ? !NOT_REPEATED.includes(name) : CARRIED_OVER.includes(name);
    const mine = batch.querySelector(`[name$="-${name}"]`);
    if (wanted && mine && !["checkbox", "radio"].includes(mine.type) && field.tagName !== "BUTTON") {
      mine.value = field.value;
    }
  }
};

const addLine = (kind) => {
  const list = document.getElementById(kind);
  const before = list.lastElementChild;
  const line = copyOf(kind, { line: nextNumber(form, new RegExp(`^${kind}-(\\d+)-`)) });
  list.append(line);
  const rate = before?.querySelector("[name$='-rate']");
  if (rate) line.querySelector("[name$='-rate']").value = rate.value;
  ready(line);
  line.querySelector("input, select").focus();
};

const renumber = () => {
  document.querySelectorAll("#stages [data-stage]").forEach((stage, place) => {
    stage.querySelector("summary [data-number]").textContent = place + firstNumber;
    stage.querySelectorAll("[data-batch]").forEach((batch, count) => {
      batch.querySelector("legend [data-number]").textContent = count + 1;
    });
  });
};

// "Now" beside each empty time: the record is most often made just after finishing.
const setClock = (field, button) => {
  const clock = new Intl.DateTimeFormat("en-GB", {
    hour: "2-digit", minute: "2-digit", timeZone: form.dataset.zone || undefined,
  });
  const minutes = field.value ? 10 : 0;
  const [hours, past] = (field.value || clock.format(new Date())).split(":").map(Number);
  const total = (hours * 60 + past - minutes + 1440) % 1440;
  const two = (number) => String(number).padStart(2, "0");
  field.value = `${two(Math.floor(total / 60))}:${two(total % 60)}`;
  button.textContent = "−10 min";
};

const addNow = (field) => {
  if (field.parentElement.querySelector(".log-now")) return;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "log-now";
  button.textContent = field.value ? "−10 min" : "Now";
  button.addEventListener("click", () => setClock(field, button));
  field.after(button);
};

const showPhotographs = (row) => {
  const files = row.querySelector("input[type=file]");
  const captions = row.querySelector("[data-captions]");
  files.addEventListener("change", () => {
    const first = captions.querySelector("label").cloneNode(true);
    const name = captions.querySelector("input").name;
    captions.replaceChildren();
    [...files.files].forEach((file, place) => {
      const label = first.cloneNode(true);
      label.htmlFor = `id_${name}${place ? `-${place}` : ""}`;
      const caption = document.createElement("input");
      Object.assign(caption, { type: "text", name, maxLength: 300, id: label.htmlFor });
      const picture = document.createElement("img");
      picture.alt = "";
      picture.src = URL.createObjectURL(file);
      picture.addEventListener("error", () => picture.remove());
      captions.append(picture, label, caption);
    });
    captions.hidden = files.files.length === 0;
    if (!files.files.length) captions.append(first);
  });
  captions.hidden = true;
};

const ready = (within) => {
  within.querySelectorAll("input[type=time]").forEach(addNow);
  within.querySelectorAll("[data-photographs]").forEach(showPhotographs);
  for (const kind of within.querySelectorAll("[data-stage] select[name$='-kind']")) watchTitle(kind);
  if (within.matches("[data-stage]")) watchTitle(within.querySelector("select[name$='-kind']"));
};

const watchTitle = (kind) => {
  const title = kind.closest("[data-stage]").querySelector("[data-title]");
  kind.addEventListener("change", () => {
    title.textContent = kind.value ? kind.selectedOptions[0].text : "Another stage";
  });
};

form.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if ("drop" in button.dataset) {
    event.preventDefault();
    button.closest("[data-batch], [data-stage]").remove();
    renumber();
  }
  const what = button.dataset.add;
  if (!what) return;
  event.preventDefault();
  if (what === "stage") addStage();
  else if (what === "batch" || what === "repeat") addBatch(button, what === "repeat");
  else addLine(what);
});

// Sent once: a second tap on a slow line changes nothing.
let sent = false;
form.addEventListener("submit", (event) => {
  if (sent) event.preventDefault();
  sent = true;
});
window.addEventListener("pageshow", () => {
  sent = false;
});

const find = document.getElementById("id_find");
if (find) {
  const hits = document.getElementById("hits");
  let waiting = 0;
  let asked = 0;
  const search = async () => {
    const mine = (asked += 1);
    const answer = await fetch(`${find.dataset.search}?find=${encodeURIComponent(find.value)}`);
    if (!answer.ok || answer.redirected) return;
    const html = await answer.text();
    if (mine === asked) hits.innerHTML = html;
  };
  find.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => search().catch(() => {}), 150);
  });
}

// Another kind of repair has other usual stages; only while nothing is entered.
const untouched = (stage) =>
  [...stage.querySelectorAll("input, textarea, [name$='-lot']")].every(
    (field) => ["date", "radio", "checkbox", "hidden"].includes(field.type) || !field.value,
  );
const usual = Object.fromEntries(
  (document.getElementById("damage").dataset.usual || "").split(";").map((one) => one.split("=")),
);
for (const radio of form.querySelectorAll("input[name=kind]")) {
  radio.addEventListener("change", () => {
    const kinds = usual[radio.value].split(",");
    const stages = () => [...document.querySelectorAll("#stages [data-stage]")];
    if (!stages().every(untouched)) return;
    const day = stages()[0]?.querySelector("[name$='-on']").value;
    stages().slice(kinds.length).forEach((stage) => stage.remove());
    while (stages().length < kinds.length) addStage(false);
    stages().forEach((stage, place) => {
      const kind = stage.querySelector("select[name$='-kind']");
      kind.value = kinds[place];
      kind.dispatchEvent(new Event("change"));
      stage.open = place === 0;
    });
    if (day) stages()[0].querySelector("[name$='-on']").value = day;
  });
}

// The rate of the day is asked as soon as a lot is chosen that was paid for in other money.
const rates = document.getElementById("rates");
form.addEventListener("change", (event) => {
  if (!rates || !event.target.name?.endsWith("-lot")) return;
  const needed = [...rates.querySelectorAll("[data-for-lots]")].some((rate) =>
    rate.dataset.forLots.split(" ").includes(event.target.value),
  );
  if (needed) rates.open = true;
});

ready(form);
