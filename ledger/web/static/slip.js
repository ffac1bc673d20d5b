// The slip page, faster: it saves itself while one types, refreshes the margin, and presses its buttons without leaving
// the page. It knows nothing of the law and adds no field of its own: everything shown comes from the server, and
// without this file the same buttons post the same form.

const form = document.getElementById("slip");
const saved = document.getElementById("saved");
const PAUSE = 700;
const RETRY = 5000;
const SWAPPED = ["items", "deal", "faults", "unseen", "tray-count", "total"];

let timer = 0;
let running = null;
let changes = 0;
let savedChanges = 0;

const token = () => document.querySelector('meta[name="token"]')?.content ?? "";

function say(text, wrong = false) {
  if (!saved || saved.textContent === text) return;
  saved.textContent = text;
  saved.classList.toggle("saved-not", wrong);
}

// Everything typed, without what is never kept (files chosen, scanner text) and the page's own words.
function typed(more = {}) {
  const data = new URLSearchParams();
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string" && !name.startsWith("unkept.")) data.append(name, value);
  }
  for (const [name, value] of Object.entries(more)) data.append(name, value);
  return data;
}

const unsaved = () => changes > savedChanges;

function tookVersion(version) {
  for (const input of form.querySelectorAll('input[type="hidden"][name="version"]')) input.value = version;
}

async function asked(response) {
  const type = response.headers.get("content-type") ?? "";
  return type.includes("json") ? response.json() : {};
}

// Saves what is typed. Whatever happens, nothing leaves the page; a save that failed is tried again.
async function save() {
  window.clearTimeout(timer);
  if (running) {
    await running;
    return unsaved() ? save() : undefined;
  }
  const at = changes;
  running = (async () => {
    try {
      const response = await fetch(form.action, {
        method: "POST",
        body: typed(),
        headers: { "X-Token": token(), Accept: "application/json" },
      });
      const answer = await asked(response);
      if (response.ok) {
        savedChanges = at;
        tookVersion(answer.version);
        showSaved(answer);
      } else if (answer.field === "draft") {
        say("Not saved: somebody else changed this slip meanwhile. Press Save to choose; what you typed is still here.", true);
      } else {
        say(`Not saved: ${answer.detail ?? "the counter did not answer as expected."} What you typed is still here.`, true);
        if (response.status >= 500) later(RETRY);
      }
    } catch {
      say("Not saved: the counter does not answer. What you typed is still here; it is tried again.", true);
      later(RETRY);
    }
  })();
  await running;
  running = null;
}

function later(wait) {
  window.clearTimeout(timer);
  timer = window.setTimeout(save, wait);
}

function showSaved(answer) {
  say(`saved at ${answer.saved_at}`);
  setText("tray-count", answer.count);
  document.getElementById("tray-count")?.classList.toggle("count-off", Boolean(answer.differs));
  setText("total", answer.total);
  for (const [name, value] of Object.entries(answer.payout ?? {})) {
    const input = document.getElementById(`f-payout-${name}`);
    if (input && input !== document.activeElement) input.value = value;
  }
  showMargin(new DOMParser().parseFromString(answer.margin ?? "", "text/html").getElementById("margin"));
}

function setText(id, text) {
  const place = document.getElementById(id);
  if (place && text !== undefined && place.textContent !== text) place.textContent = text;
}

// The margin is not exchanged under the hands of somebody who writes a reason in it.
function showMargin(fresh) {
  const old = document.getElementById("margin");
  if (!fresh || !old || old.contains(document.activeElement)) return;
  keepOpen(old, fresh);
  old.replaceWith(document.adoptNode(fresh));
}

// What somebody opened stays open: by id of the part it stands in, and its number there.
function keepOpen(old, fresh) {
  const folds = (root) => [...root.querySelectorAll("details")];
  const name = (fold) => `${fold.closest("[id]")?.id}/${fold.className}/${fold.querySelector("summary")?.firstChild?.textContent?.slice(0, 12)}`;
  const open = new Map(folds(old).map((fold) => [name(fold), fold.open]));
  for (const fold of folds(fresh)) {
    if (open.get(name(fold))) fold.open = true;
    if (fold.classList.contains("margin-fold") && open.has(name(fold))) fold.open = open.get(name(fold));
  }
}

// A page that came back is put in place of this one, part by part; the people's part only when a post went there.
function show(page, more = []) {
  for (const id of [...SWAPPED, ...more]) {
    const old = document.getElementById(id);
    const fresh = page.getElementById(id);
    if (!old || !fresh) continue;
    keepOpen(old, fresh);
    old.replaceWith(document.adoptNode(fresh));
  }
  showMargin(page.getElementById("margin"));
  const version = page.querySelector('input[name="version"]');
  if (version) tookVersion(version.value);
  setText("saved", page.getElementById("saved")?.textContent);
}

function goTo(id) {
  const place = document.getElementById(id);
  if (!place) return;
  for (let fold = place.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  const field = place.matches("input, select, textarea") ? place : place.querySelector("input:not([type=hidden]), select, textarea, button");
  (field ?? place).focus();
}

// Presses a button of the form without leaving the page.
async function press(button) {
  window.clearTimeout(timer);
  if (running) await running;
  const at = changes;
  const more = button.name ? { [button.name]: button.value } : {};
  try {
    const response = await fetch(form.action, { method: "POST", body: typed(more), headers: { "X-Token": token(), "X-Pressed": "yes" } });
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    if (!page.getElementById("slip")) {
      form.dataset.plain = "yes"; // a sign-in page or a fault: a plain post shows it and carries what is typed through
      form.requestSubmit(button);
      return;
    }
    if (response.ok) savedChanges = at;
    show(page);
    const wrong = document.getElementById("summary");
    if (wrong && !response.ok) wrong.focus();
    else goTo(page.getElementById("slip").dataset.go ?? "");
  } catch {
    say("Not saved: the counter does not answer. What you typed is still here; it is tried again.", true);
    later(RETRY);
  }
}

// Another part of the page posts the whole form with files or words of its own, after a save that is on its way.
export async function post(url, { files = null, extra = {} } = {}) {
  window.clearTimeout(timer);
  if (running) await running;
  const at = changes;
  let body = typed(extra);
  if (files) {
    const parts = new FormData();
    for (const [name, value] of body) parts.append(name, value);
    for (const [name, value] of files.entries()) parts.append(name, value);
    body = parts;
  }
  const response = await fetch(url, { method: "POST", body, headers: { "X-Token": token(), Accept: "application/json" } });
  const answer = await asked(response.clone());
  if (response.ok && answer.version !== undefined) {
    savedChanges = at;
    tookVersion(answer.version);
  }
  return response;
}

async function refresh() {
  const response = await fetch(form.action, { headers: { Accept: "text/html" } });
  if (response.ok) show(new DOMParser().parseFromString(await response.text(), "text/html"));
}

// On a wide screen the margin stands open; on a narrow one its line at the top opens it.
const wide = window.matchMedia("(min-width: 56.01rem)");
function openMargin() {
  const fold = document.querySelector(".margin-fold");
  if (fold) fold.open = wide.matches;
}

if (form) {
  openMargin();
  wide.addEventListener("change", openMargin);
  document.documentElement.classList.add("scripted");
  const changed = (event) => {
    if (event.target.name?.startsWith("unkept.") || (event.target.form ?? form) !== form) return;
    changes += 1;
    later(PAUSE);
  };
  form.addEventListener("input", changed);
  document.addEventListener("input", (event) => {
    if (!form.contains(event.target) && event.target.form === form) changed(event);
  });
  form.addEventListener("slip-changed", () => { refresh(); });

  // A line ends with Enter: it is read, and the next one waits.
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.ctrlKey || event.altKey || event.isComposing) return;
    if (event.target.matches("[data-line]")) {
      event.preventDefault();
      press(event.target.closest(".item-line").querySelector("button"));
    } else if (event.target.matches("input:not([type=checkbox]):not([type=radio]):not([type=file])") && !event.defaultPrevented) {
      event.preventDefault();
      save();
    }
  });
  // A kind of test that is chosen has its fields at once.
  form.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.matches('select[name^="ui.test."]') && event.target.value) {
      event.preventDefault();
      press(event.target.closest(".row").querySelector("button"));
    }
  });
  // Conclusions one after the other: Enter goes on to the next one, and after the last to the payout.
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.ctrlKey || !event.target.matches('select[name$=".conclusion.agrees"]')) return;
    event.preventDefault();
    const all = [...form.querySelectorAll('select[name$=".conclusion.agrees"]')];
    (all[all.indexOf(event.target) + 1] ?? document.getElementById("f-payout-instrument")).focus();
  });
  form.addEventListener("submit", (event) => {
    const button = event.submitter;
    if (event.defaultPrevented || form.dataset.plain || !button || button.getAttribute("formaction")) return;
    event.preventDefault();
    delete form.dataset.sent;
    press(button);
  });
  window.addEventListener("beforeunload", (event) => {
    if (unsaved() && !form.dataset.sent) event.preventDefault();
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest('.margin a[href^="#"], .summary a[href^="#"]');
    if (!link) return;
    event.preventDefault();
    goTo(link.getAttribute("href").slice(1));
  });
  if (window.location.hash) goTo(window.location.hash.slice(1));
  window.setInterval(() => { if (unsaved() && !running) save(); }, RETRY);
}
