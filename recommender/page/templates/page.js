// What is typed is sent, and what comes back is shown; every sentence is the server's.
"use strict";

const SETTLES = 350; // ms without a key before the form is sent
const form = document.getElementById("case");
const standing = document.getElementById("standing");
const answer = document.getElementById("answer");
const saving = document.querySelector("[formaction='case.toml']");
let sent = ""; // the form as it was sent last
let asking = null; // ends the request for the form that was sent last
let timer = 0;

const say = (text, kind) => {
  if (standing.textContent !== text) standing.textContent = text;
  standing.parentElement.className = `standing ${kind}`;
};

// What is shown while there is nothing newer is said to be older.
const before = () => (answer.childElementCount ? " The answer shown is that before." : "");

const typed = () => new URLSearchParams(new FormData(form)).toString();

async function fetched(path, options) {
  const response = await fetch(path, { cache: "no-store", ...options });
  if (!response.ok) throw new Error(await response.text());
  return response.json();
}

const post = (path, body, signal) =>
  fetched(path, {
    method: "POST",
    body,
    signal,
    headers: { "Content-Type": "application/x-www-form-urlencoded" },
  });

function unfold(element) {
  for (let at = element.closest("details"); at; at = at.parentElement.closest("details")) {
    at.open = true;
  }
}

function showFaults(faults) {
  for (const place of document.querySelectorAll("[id^='fault-']")) {
    const name = place.id.slice("fault-".length);
    const text = faults[name] || "";
    const entry = document.getElementById(name);
    if (place.textContent !== text) place.textContent = text;
    place.hidden = !text;
    if (entry && entry.name) {
      if (text) entry.setAttribute("aria-invalid", "true");
      else entry.removeAttribute("aria-invalid");
    }
    if (text) unfold(place);
  }
}

function showBeside(kind, texts) {
  for (const place of document.querySelectorAll(`[id^='${kind}-']`)) {
    place.textContent = texts[place.id.slice(kind.length + 1)] || "";
  }
}

function showWares(question, ready) {
  for (const link of document.querySelectorAll("[data-ware]")) {
    const there = ready.includes(link.dataset.ware);
    link.setAttribute("aria-disabled", String(!there));
    if (there) {
      link.href = `question/${question}/${link.dataset.ware}`;
      link.setAttribute("download", "");
    } else link.removeAttribute("href");
  }
}

function showBeforehand(lines) {
  const list = document.getElementById("beforehand");
  list.replaceChildren(
    ...lines.map((line) => {
      const entry = document.createElement("li");
      entry.textContent = line;
      return entry;
    }),
  );
  list.hidden = !lines.length;
}

function showAnswer(html) {
  const open = new Set(
    [...answer.querySelectorAll("details[open]")].map((entry) => entry.dataset.kept),
  );
  const within = document.activeElement && answer.contains(document.activeElement);
  const label = within ? document.activeElement.getAttribute("aria-label") : null;
  const plan = answer.querySelector("img.plan");
  answer.innerHTML = html;
  const same = answer.querySelector("img.plan");
  // Explanations leave the plan as it is; a new picture would have to be loaded.
  if (plan && same && plan.src === same.src) same.replaceWith(plan);
  for (const entry of answer.querySelectorAll("details")) {
    entry.open = open.has(entry.dataset.kept);
  }
  if (label) answer.querySelector(`[aria-label="${label}"]`)?.focus();
}

function showNews(news) {
  if (news.html) showAnswer(news.html);
  if (news.state === "failed") say(`No answer: ${news.failure}.`, "wrong");
  else if (news.state === "superseded") {
    say("Another question took the place of this one; change a value to ask again.", "wrong");
  } else if (news.state === "done") say(`${news.headline}.`, "done");
  else if (!news.headline) say(`Searching all options.${before()}`, "working");
  else if (news.so_far) say(`${news.headline} so far. Looking for something cheaper.`, "working");
  else if (!news.explained) say(`${news.headline}. Working out what may move, and why.`, "working");
  else say(`${news.headline}. Working out the sheet.`, "working");
}

async function follow(question, signal) {
  let seen = 0;
  for (let state = "working"; state === "working"; ) {
    const news = await fetched(`question/${question}?seen=${seen}`, { signal });
    state = news.state;
    if (news.step === seen && state === "working") continue;
    seen = news.step;
    showNews(news);
    showBeside("room", news.rooms || {});
    showWares(question, news.wares || []);
  }
}

async function ask() {
  clearTimeout(timer);
  const now = typed();
  if (now === sent) return;
  sent = now;
  if (asking) asking.abort();
  asking = new AbortController();
  const { signal } = asking;
  standing.parentElement.className = "standing working";
  try {
    const read = await post("question", now, signal);
    showFaults(read.faults);
    showBeside("note", read.notes);
    if (!read.question) {
      showBeside("room", {});
      showWares("", []);
      showBeforehand([]);
      const count = Object.keys(read.faults).length;
      say(
        `${count === 1 ? "One value is" : `${count} values are`} not understood, see the form.` +
          before(),
        "wrong",
      );
      return;
    }
    showBeside("room", {});
    showWares(read.question, []);
    showBeforehand(read.beforehand);
    say(`Searching all options.${before()}`, "working");
    await follow(read.question, signal);
  } catch (error) {
    if (error.name === "AbortError") return;
    sent = "";
    say(`The program does not answer (${error.message}). Is it still running?`, "wrong");
  }
}

function soon() {
  clearTimeout(timer);
  timer = setTimeout(ask, SETTLES);
}

// A line of loops has no form: what it says of itself stands there, and there is no case to save.
async function showLine(read) {
  clearTimeout(timer);
  form.innerHTML = read.form;
  saving.disabled = true;
  sent = typed();
  if (asking) asking.abort();
  asking = new AbortController();
  const { signal } = asking;
  showFaults({});
  showBeforehand([]);
  showWares(read.line, []);
  say(`Searching all options.${before()}`, "working");
  try {
    await follow(read.line, signal);
  } catch (error) {
    if (error.name === "AbortError") return;
    say(`The program does not answer (${error.message}). Is it still running?`, "wrong");
  }
}

function showForm(html) {
  form.innerHTML = html;
  saving.disabled = false;
  sent = ""; // what stood beside the fields went with them
  ask();
}

async function open(path, body) {
  const refused = document.getElementById("refused");
  try {
    const read = await post(path, body);
    refused.textContent = read.refused || "";
    refused.hidden = !read.refused;
    if (read.line) await showLine(read);
    else if (read.form) showForm(read.form);
  } catch (error) {
    refused.textContent = `It cannot be opened: ${error.message}.`;
    refused.hidden = false;
  }
}

async function openFile(file) {
  if (file) await open(`open?name=${encodeURIComponent(file.name)}`, file);
}

async function changeStations(button) {
  const place = button.dataset.do;
  const body = new URLSearchParams(new FormData(form));
  body.set("do", place);
  const read = await post("stations", body.toString());
  const unfolded = [...form.querySelectorAll("details.group[open]")].map((d) => d.dataset.group);
  showForm(read.form);
  for (const entry of form.querySelectorAll("details.group")) {
    entry.open = entry.open || unfolded.includes(entry.dataset.group);
  }
  const names = form.querySelectorAll("fieldset.station input");
  const last = form.querySelectorAll("fieldset.station");
  (place === "add" ? last[last.length - 1].querySelector("input") : names[0]).focus();
}

form.addEventListener("input", soon);
form.addEventListener("change", ask);
form.addEventListener("submit", (event) => {
  if (event.submitter?.hasAttribute("formaction")) return; // saves the case as it stands
  event.preventDefault();
  ask();
});
form.addEventListener("click", (event) => {
  const button = event.target.closest("[data-do]");
  if (button) changeStations(button).catch((error) => say(`${error.message}.`, "wrong"));
});
form.addEventListener("focusin", (event) => {
  const told = event.target.closest(".field")?.querySelector(".told");
  const help = document.getElementById("help");
  help.textContent = told ? told.textContent : "";
  help.hidden = !help.textContent;
});
document.getElementById("file").addEventListener("change", (event) => {
  openFile(event.target.files[0]);
  event.target.value = "";
});
document.getElementById("open-worked").addEventListener("click", () => {
  open(`worked/${encodeURIComponent(document.getElementById("worked").value)}`, "");
});
for (const name of ["dragover", "dragleave", "drop"]) {
  document.addEventListener(name, (event) => {
    if (![...(event.dataTransfer?.types || [])].includes("Files")) return;
    event.preventDefault();
    document.body.classList.toggle("dropping", name === "dragover");
    if (name === "drop") openFile(event.dataTransfer.files[0]);
  });
}
ask();
