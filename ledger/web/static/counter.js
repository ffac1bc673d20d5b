// What every page does beyond a plain page: the cover, keys for sections and for the page's main act.
// Without this file every page works; with it, it works faster.

const cover = document.getElementById("cover");
const everythingElse = () => [...document.body.children].filter((child) => child !== cover);
let focused = null;

// The cover hides the page from eyes and from assistive technology alike, and nothing behind it can be reached.
function toggleCover() {
  const covering = cover.hidden;
  if (covering) focused = document.activeElement;
  cover.hidden = !covering;
  for (const child of everythingElse()) child.inert = covering;
  document.documentElement.classList.toggle("is-covered", covering);
  if (covering) {
    cover.tabIndex = -1;
    cover.focus();
  } else if (focused) {
    focused.focus();
  }
}

if (cover) {
  document.addEventListener("keydown", (event) => {
    if (event.key === "F9" && !event.repeat) {
      event.preventDefault();
      toggleCover();
    }
  });
  cover.addEventListener("click", toggleCover);
  for (const link of document.querySelectorAll("[data-cover]")) {
    link.addEventListener("click", (event) => {
      event.preventDefault();
      toggleCover();
    });
  }
}

// Alt+1 to Alt+9: to the numbered section. Ctrl+Enter: the page's main act.
document.addEventListener("keydown", (event) => {
  if (cover && !cover.hidden) return;
  if (event.altKey && !event.ctrlKey && !event.metaKey && /^[1-9]$/.test(event.key)) {
    const section = document.querySelector(`[data-section="${event.key}"]`);
    if (!section) return;
    event.preventDefault();
    const first = section.querySelector("input:not([type=hidden]), select, textarea, button, a[href]") || section;
    section.scrollIntoView({ block: "start" });
    first.focus();
  }
  if (event.ctrlKey && event.key === "Enter") {
    const act = document.querySelector("[data-key='main']");
    if (act) {
      event.preventDefault();
      act.click();
    }
  }
});

// One press, one act: a form that was sent is not sent again while it is on its way.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  window.setTimeout(() => delete form.dataset.sent, 8000);
});
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});

// After a refused form the eye and the reader start at what is wrong.
const wrong = document.getElementById("summary");
if (wrong) wrong.focus();
