// The scan box: catches what a scanner types, whatever keys it presses, and sends it when the stream pauses.
// A scanner types faster than a person: keys that follow each other within GAP belong to one stream, and none of them
// leaves the box, sends the form or reaches the browser. Without this file the button beside the box does the same.

import { post } from "/static/slip.js";

const GAP = 60;
const PAUSE = 350;
const LEAST = 40;
const CONTROLS = { j: "\n", m: "\r", "^": "\x1e", 6: "\x1e", "]": "\x1d", "[": "\x1b", "\\": "\x1c", _: "\x1f", "-": "\x1f", i: "\t" };

const form = document.getElementById("slip");
let last = 0;
let length = 0;
let timer = 0;
let tabbing = 0;

function insert(box, text) {
  box.setRangeText(text, box.selectionStart, box.selectionEnd, "end");
}

function leave(box) {
  const all = [...document.querySelectorAll("input, select, textarea, button, a[href], summary")].filter(
    (one) => !one.disabled && one.tabIndex >= 0 && one.type !== "hidden" && one.checkVisibility(),
  );
  all[all.indexOf(box) + 1]?.focus();
}

function caught(event) {
  const box = event.target.closest?.("[data-scan]");
  if (!box || event.isComposing || ["Shift", "Control", "Alt", "Meta", "CapsLock"].includes(event.key)) return;
  if (event.key === "Tab" && event.shiftKey) return; // a person goes back; no scanner does
  const now = performance.now();
  const stream = now - last < GAP;
  last = now;
  length = stream ? length + 1 : 1;
  if (tabbing) {
    window.clearTimeout(tabbing);
    tabbing = 0;
    insert(box, "\t");
  }
  const plain = !event.ctrlKey && !event.altKey && !event.metaKey;
  if (event.key === "Enter" || event.key === "Tab" || event.key === "Escape" || !plain || event.key.length > 1) {
    event.stopPropagation(); // no key of a stream is one of the page's own keys
  }
  if (event.key === "Tab" && plain) {
    event.preventDefault();
    if (stream) insert(box, "\t");
    else tabbing = window.setTimeout(() => { tabbing = 0; leave(box); }, GAP);
  } else if (event.ctrlKey && !event.altKey && (stream || (event.key.toLowerCase() in CONTROLS && event.key !== "-"))) {
    event.preventDefault();
    const control = CONTROLS[event.key.toLowerCase()];
    if (control) insert(box, control === "\r" ? "\n" : control);
  } else if (event.altKey && /^[0-9]$/.test(event.key)) {
    event.preventDefault(); // a control character typed as Alt and digits: it stands between elements
    if (!box.value.endsWith("\n")) insert(box, "\n");
  } else if (event.key === "Enter") {
    event.preventDefault();
    insert(box, "\n");
  } else if (stream && event.key.length > 1) {
    event.preventDefault();
  }
  window.clearTimeout(timer);
  timer = window.setTimeout(() => ended(box), PAUSE);
}

function ended(box) {
  const fast = length >= LEAST;
  length = 0;
  if (fast && box.value.length >= LEAST) read(box.parentElement.querySelector("[data-read]"));
}

// Presses a button of the people's part without leaving the page: its answer takes the part's place.
async function read(button) {
  const scan = button.closest(".scan-box");
  const says = scan?.querySelector(".scan-says");
  if (says) says.textContent = "Reading...";
  const files = new FormData();
  const extra = { [button.name]: button.value };
  const part = button.closest(".party") ?? button.parentElement;
  for (const input of part.querySelectorAll('[name^="unkept."]')) {
    if (input.type === "file") for (const file of input.files) files.append(input.name, file);
    else if (input.tagName !== "BUTTON" && !(input.name in extra)) extra[input.name] = input.value;
  }
  const multipart = button.getAttribute("formenctype") ? files : null;
  try {
    await placed(await post(button.getAttribute("formaction"), { files: multipart, extra }), part);
  } catch {
    tell(part, "The counter does not answer. What you typed is still here; try again.");
  }
}

export async function placed(response, part) {
  const type = response.headers.get("content-type") ?? "";
  const answer = type.includes("json") ? await response.json() : {};
  if (!response.ok || !answer.html) {
    tell(part, answer.detail ?? "The counter did not answer as expected. What you typed is still here.");
    return;
  }
  const fresh = new DOMParser().parseFromString(answer.html, "text/html").getElementById("parties");
  document.getElementById("parties").replaceWith(document.adoptNode(fresh));
  form.dispatchEvent(new CustomEvent("slip-changed", { bubbles: true }));
  const here = document.getElementById(answer.go) ?? fresh;
  const next = here.querySelector(".caution button, input[name$='.compared']") ?? here.querySelector("input:not([type=hidden])");
  next?.focus();
  document.dispatchEvent(new CustomEvent("parties-shown"));
}

export function tell(part, text) {
  const says = part?.querySelector(".scan-says") ?? document.querySelector(".scan-says");
  if (says) says.textContent = text;
}

if (form) {
  document.addEventListener("keydown", caught, true);
  form.addEventListener("paste", (event) => {
    const box = event.target.closest("[data-scan]");
    if (box) window.setTimeout(() => { if (box.value.length >= LEAST) read(box.parentElement.querySelector("[data-read]")); });
  });
  form.addEventListener("submit", (event) => {
    const button = event.submitter;
    if (!button?.matches("[data-read]") || event.defaultPrevented) return;
    event.preventDefault();
    delete form.dataset.sent;
    read(button);
  });
  form.addEventListener("focusout", (event) => {
    if (event.target.matches(".masked") && event.target.value) event.target.classList.remove("fresh");
  });
}
