// Records lines one by one. Takes are in this page's memory and nowhere else.
import { findPeak, joinParts, trimSilence } from "/trim.js";

document.documentElement.classList.add("scripted");
const byId = (id) => document.getElementById(id);
const room = byId("recorder");
const lines = JSON.parse(room.dataset.lines);
const rate = Number(room.dataset.rate);
const longest = Number(room.dataset.longest);
const hertz = Number(room.dataset.hertz);
const takes = new Map();
const CLIPPED = 0.985;
let delivery = byId("delivery").value;
let at = 0;
let context = null;
let source = null;
let recording = null;
let playing = null;
let unsaved = false;

const key = (i = at) => `${delivery}/${i}`;
const here = () => lines[delivery];

function complain(message) {
  byId("problem").textContent = message;
  byId("problem").hidden = !message;
}

function advise(message, bad = false) {
  byId("advice").textContent = message;
  byId("advice").classList.toggle("bad", bad);
}

// What is shown

function show() {
  const [said, original] = here()[at];
  byId("said").textContent = said;
  byId("original").textContent = original === said ? "" : original;
  byId("place").textContent = `Line ${at + 1} of ${here().length}`;
  byId("mark").textContent = takes.has(key()) ? "recorded" : "";
  byId("record").textContent = recording ? "Stop" : takes.has(key()) ? "Record again" : "Record";
  byId("record").setAttribute("aria-pressed", String(Boolean(recording)));
  byId("play").disabled = byId("drop").disabled = !takes.has(key()) || Boolean(recording);
  byId("before").disabled = at === 0;
  byId("next").disabled = at === here().length - 1;
  const count = here().filter((_, i) => takes.has(key(i))).length;
  byId("total").textContent = `${count} of ${here().length} recorded`;
  byId("make").disabled = byId("files").disabled = takes.size === 0;
  [...byId("list").children].forEach((item, i) => {
    const button = item.firstElementChild;
    button.toggleAttribute("aria-current", i === at);
    item.lastElementChild.textContent = takes.has(key(i)) ? "recorded" : "";
  });
}

function list() {
  byId("list").replaceChildren(...here().map(([said], i) => {
    const item = document.createElement("li");
    const button = document.createElement("button");
    const mark = document.createElement("span");
    button.type = "button";
    button.className = "link";
    button.textContent = said;
    button.addEventListener("click", () => go(i));
    mark.className = "hint";
    item.append(button, " ", mark);
    return item;
  }));
}

async function go(i) {
  if (i < 0 || i >= here().length) return;
  await stop();
  halt();
  at = i;
  advise("");
  byId("level").value = 0;
  show();
}

// Recording

async function open() {
  if (!context) context = new AudioContext();
  if (context.state !== "running") await context.resume();
  if (source && source.mediaStream.active) return;
  const stream = await navigator.mediaDevices.getUserMedia({
    audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false },
  });
  await context.audioWorklet.addModule("/record-worklet.js");
  source = new MediaStreamAudioSourceNode(context, { mediaStream: stream });
}

async function start() {
  halt();
  complain("");
  advise("");
  try {
    await open();
  } catch (error) {
    complain(error.name === "NotAllowedError"
      ? "The browser may not use the microphone. Allow it for this page and try again."
      : "No microphone was found. Connect one and try again.");
    return;
  }
  const node = new AudioWorkletNode(context, "line-recorder");
  const mine = { node, parts: [], length: 0, peak: 0, clipped: false };
  node.port.onmessage = ({ data }) => {
    if (recording !== mine) return;
    mine.parts.push(data);
    mine.length += data.length;
    const peak = findPeak(data);
    mine.peak = Math.max(mine.peak, peak);
    const meter = byId("level");
    meter.value = Math.max(peak, 0.85 * meter.value);
    if (peak >= CLIPPED && !mine.clipped) {
      mine.clipped = true;
      advise("Too loud: go back from the microphone, and record again.", true);
    }
    if (mine.length > longest * context.sampleRate) stop();
  };
  source.connect(node).connect(context.destination);
  recording = mine;
  show();
}

async function stop() {
  if (!recording) return;
  const mine = recording;
  recording = null;
  source.disconnect(mine.node);
  mine.node.disconnect();
  mine.node.port.postMessage("stop");
  const trimmed = trimSilence(joinParts(mine.parts), context.sampleRate);
  if (mine.peak < 0.01 || trimmed.length < 0.2 * context.sampleRate) {
    advise("Nothing was heard. Come closer to the microphone, and record again.", true);
  } else {
    takes.set(key(), await resample(trimmed, context.sampleRate));
    unsaved = true;
    if (!mine.clipped) {
      advise(mine.peak < 0.06 ? "Rather quiet: come closer, if you like." : "Good level.");
    }
  }
  show();
}

async function resample(samples, from) {
  const length = Math.max(1, Math.round((samples.length * rate) / from));
  const offline = new OfflineAudioContext(1, length, rate);
  const buffer = new AudioBuffer({ length: samples.length, sampleRate: from });
  buffer.copyToChannel(samples, 0);
  const node = new AudioBufferSourceNode(offline, { buffer });
  node.connect(offline.destination);
  node.start();
  return (await offline.startRendering()).getChannelData(0);
}

// Playing back

async function play() {
  halt();
  const samples = takes.get(key());
  if (!samples) return;
  await context.resume();
  const buffer = new AudioBuffer({ length: samples.length, sampleRate: rate });
  buffer.copyToChannel(samples, 0);
  playing = new AudioBufferSourceNode(context, { buffer });
  playing.connect(context.destination);
  playing.start();
}

async function note() {
  halt();
  if (!context) context = new AudioContext();
  await context.resume();
  const tone = new OscillatorNode(context, { type: "triangle", frequency: hertz });
  const gain = new GainNode(context, { gain: 0 });
  gain.gain.setTargetAtTime(0.25, context.currentTime, 0.02);
  gain.gain.setTargetAtTime(0, context.currentTime + 1.5, 0.05);
  tone.connect(gain).connect(context.destination);
  tone.start();
  tone.stop(context.currentTime + 2);
  playing = tone;
}

function halt() {
  if (!playing) return;
  playing.stop();
  playing = null;
}

// Keys and buttons

byId("record").addEventListener("click", () => (recording ? stop() : start()));
byId("play").addEventListener("click", play);
byId("drop").addEventListener("click", () => {
  takes.delete(key());
  advise("");
  show();
});
byId("before").addEventListener("click", () => go(at - 1));
byId("next").addEventListener("click", () => go(at + 1));
if (byId("note")) byId("note").addEventListener("click", note);
byId("delivery").addEventListener("change", async (event) => {
  await stop();
  delivery = event.target.value;
  at = 0;
  list();
  show();
});
document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || event.target.matches("select, summary, a")) return;
  const button = event.target.closest("button");
  if (event.key === " " && !event.repeat && (!button || button.id === "record")) {
    event.preventDefault();
    recording ? stop() : start();
  } else if (event.key === "Enter" && !button) {
    event.preventDefault();
    go(at + 1);
  } else if (event.key.toLowerCase() === "p") play();
  else if (event.key.toLowerCase() === "n" && byId("note")) note();
});
// A click on the button sets the focus there: the space bar is then the button's own.
byId("record").addEventListener("keyup", (event) => {
  if (event.key === " ") event.preventDefault();
});

// Making the page

function pack(samples) {
  const numbers = new Int16Array(samples.length);
  samples.forEach((value, i) => { numbers[i] = Math.max(-1, Math.min(1, value)) * 32767; });
  const bytes = new Uint8Array(numbers.buffer);
  let text = "";
  for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
  return btoa(text);
}

async function make(kind) {
  await stop();
  complain("");
  byId("total").textContent = "Working…";
  byId("make").disabled = byId("files").disabled = true;
  const fields = Object.fromEntries(new FormData(byId("state")));
  const sent = [...takes].map(([name, samples]) => {
    const [whose, number] = name.split("/");
    return { delivery: whose, number: Number(number), sound: pack(samples) };
  });
  try {
    const answer = await fetch("/recorded", {
      method: "POST",
      body: JSON.stringify({ fields, takes: sent, kind }),
      headers: { "Content-Type": "application/json", "X-Part": "1" },
    });
    if (!answer.ok) {
      complain(await settings.reasonOf(answer));
      return;
    }
    await settings.saveFile(answer);
    unsaved = false;
  } catch {
    complain("drillgen has stopped. Start it again; the recordings are still here.");
  } finally {
    show();
  }
}

byId("make").addEventListener("click", () => make("page"));
byId("files").addEventListener("click", () => make("files"));
window.addEventListener("beforeunload", (event) => {
  if (unsaved) event.preventDefault();
});

list();
show();
