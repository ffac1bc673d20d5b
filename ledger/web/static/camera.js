// The camera: shows what it sees with a frame to line the card up in, takes one picture and sends it.
// Without it, or where there is no camera, the field for a file beside each button does the same.

import { post } from "/static/slip.js";
import { placed, tell } from "/static/scan.js";

const QUALITY = 0.92;
const WIDTH = 1920;

function made(name, text, more = {}) {
  const element = document.createElement(name);
  if (text) element.textContent = text;
  return Object.assign(element, more);
}

function offer() {
  if (!navigator.mediaDevices?.getUserMedia) return;
  for (const button of document.querySelectorAll("[data-camera]")) button.hidden = false;
}

async function open(button) {
  const target = button.dataset.camera;
  let stream;
  try {
    const facingMode = target.endsWith(".photo") ? "user" : "environment";
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode, width: { ideal: WIDTH } }, audio: false });
  } catch {
    tell(button.closest(".party"), "The camera cannot be opened: allow it in the browser, or choose a file.");
    return;
  }
  const dialog = made("dialog", "", { className: "camera" });
  dialog.setAttribute("aria-label", "Camera");
  const video = made("video", "", { muted: true, playsInline: true, srcObject: stream });
  const view = made("div", "", { className: "view" });
  view.append(video, made("div", "", { className: "frame" }));
  const hint = made("p", "Line it up with the frame, flat and without a reflection.");
  const take = made("button", "Take the picture", { type: "button", className: "act" });
  const close = made("button", "Close", { type: "button" });
  const acts = made("div", "", { className: "acts" });
  acts.append(take, close);
  dialog.append(view, hint, acts);
  document.body.append(dialog);
  dialog.addEventListener("close", () => {
    for (const track of stream.getTracks()) track.stop();
    dialog.remove();
    if (button.isConnected) button.focus();
  });
  close.addEventListener("click", () => dialog.close());
  take.addEventListener("click", async () => {
    take.disabled = true;
    const picture = await still(video);
    dialog.close();
    await send(button, target, picture);
  });
  dialog.showModal();
  await video.play();
  take.focus();
}

function still(video) {
  const canvas = made("canvas", "", { width: video.videoWidth, height: video.videoHeight });
  canvas.getContext("2d").drawImage(video, 0, 0);
  return new Promise((done) => { canvas.toBlob(done, "image/jpeg", QUALITY); });
}

async function send(button, target, picture) {
  const part = button.closest(".party");
  const files = new FormData();
  files.append(`unkept.file.${target}`, picture, "picture.jpg");
  const [kind, place] = target.split(".");
  const act = kind === "barcode" ? "barcode" : "picture";
  const extra = kind === "barcode" ? { "unkept.party": place } : {};
  tell(part, "Reading...");
  try {
    await placed(await post(`/slip/${document.getElementById("slip").dataset.draft}/${act}`, { files, extra }), part);
  } catch {
    tell(part, "The counter does not answer; try again.");
  }
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-camera]");
  if (button) open(button);
});
document.addEventListener("parties-shown", offer);
document.addEventListener("slip-changed", () => window.setTimeout(offer, 500));
offer();
