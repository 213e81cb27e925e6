// The page's behaviour. What a person does is kept in `state`, in memory only; `show`
// brings the page into line with it.
import { createAudio } from "./audio.js";
import { fill, nameNote, semitonesAbove } from "./notes.js";
import { createPacer } from "./pacer.js";
import { createTone } from "./tone.js";
import { createTrace, describeHz, traceSupport } from "./trace.js";

const SEMITONES = 12;
const HERTZ = [50, 1000];
const REST_SECONDS = 30;

const byId = (id) => document.getElementById(id);
const all = (selector, root = document) => [...root.querySelectorAll(selector)];
const settings = JSON.parse(byId("settings").textContent);
const { words, steps, repetitions, restEvery } = settings;

const state = {
  step: 0,
  version: steps[0].versions[0] ?? null,
  whole: false,
  at: 0,
  counts: new Map(),
  sinceRest: 0,
  total: 0,
  shift: 0,
};

const finished = () => state.step === steps.length;
const versionOf = () => (state.version === null ? null : byId(state.version));
const phrasesOf = () => (versionOf() ? all(".ph", versionOf()) : []);
const countKey = () => [state.step, state.version, state.whole ? "all" : state.at].join("/");
const countOf = () => state.counts.get(countKey()) ?? 0;
const baseHz = settings.hz;
const toneHz = () => (baseHz === null ? null : baseHz * 2 ** (state.shift / 12));

// A live region speaks only when its text changes.
function say(text) {
  const region = byId("say");
  region.textContent = region.textContent === text ? `${text}\u00a0` : text;
}

// Text

function show() {
  const end = finished();
  byId("practice").hidden = end;
  byId("bar").hidden = end || phrasesOf().length === 0;
  byId("end").hidden = !end;
  all("#steps button").forEach((button, number) => {
    if (number === state.step) button.setAttribute("aria-current", "step");
    else button.removeAttribute("aria-current");
  });
  all(".v").forEach((version) => version.classList.toggle("on", version.id === state.version));
  if (end) {
    byId("total").textContent = state.total ? fill(words.total, { count: state.total }) : "";
    return;
  }
  all("[data-step]").forEach((part) => {
    part.hidden = Number(part.dataset.step) !== state.step;
  });
  const choice = steps[state.step].versions;
  const bridge = nextVersion() !== null;
  if (bridge) all("[data-step]").forEach((part) => (part.hidden = true));
  byId("bridge").hidden = !bridge;
  byId("bridge-note").hidden = choice.length < 2;
  byId("bridge-note").textContent = versionOf()?.querySelector(".note").textContent ?? "";
  byId("choice").hidden = choice.length < 2;
  all("#version option").forEach((option) => {
    option.hidden = option.disabled = !choice.includes(option.value);
  });
  byId("version").value = state.version ?? "";
  byId("reader").classList.toggle("single", !state.whole);
  byId("practice").classList.toggle("whole", state.whole);
  const phrases = phrasesOf();
  byId("empty").hidden = phrases.length > 0;
  byId("turn").hidden = phrases.length === 0;
  state.at = Math.max(0, Math.min(state.at, phrases.length - 1));
  phrases.forEach((phrase, number) => {
    phrase.classList.toggle("on", state.whole || number === state.at);
  });
  byId("before").hidden = byId("after").hidden = state.whole;
  byId("before").disabled = state.at === 0;
  byId("after").disabled = state.at >= phrases.length - 1;
  byId("place").textContent = state.whole
    ? words.wholePlace
    : fill(words.place, { at: state.at + 1, of: phrases.length });
  byId("next-step").textContent = fill(words.nextStep, { name: nextName() });
  showCount();
}

// Within a step the rungs come one after the other; null after the last.
function nextVersion() {
  const choice = steps[state.step].versions;
  return choice[choice.indexOf(state.version) + 1] ?? null;
}

function nextName() {
  const version = nextVersion();
  if (version !== null) return byId(version).querySelector("h2").textContent;
  return steps[state.step + 1]?.name ?? words.finish;
}

function showCount() {
  const done = countOf();
  byId("counted").textContent = fill(words.counted, { done, of: repetitions });
  all("#dots > *").forEach((dot, number) => dot.classList.toggle("full", number < done));
  const last = Math.max(1, repetitions - 1);
  byId("cue").textContent =
    done >= repetitions ? words.again : words.cues[Math.min(2, Math.round((2 * done) / last))];
  byId("after").classList.toggle("ready", done >= repetitions);
  byId("next-step").classList.toggle(
    "ready",
    done >= repetitions && (state.whole || state.at >= phrasesOf().length - 1),
  );
}

function goToStep(number) {
  pacer.reset();
  state.step = Math.max(0, Math.min(number, steps.length));
  if (finished()) {
    tone.stop();
    trace.stop();
    showTone();
  } else {
    const choice = steps[state.step].versions;
    if (!choice.includes(state.version)) state.version = choice[0] ?? null;
    state.at = 0;
  }
  show();
  say(finished() ? words.finish : steps[state.step].name);
}

function goToVersion(version) {
  pacer.reset();
  state.version = version;
  state.at = 0;
  show();
}

function goToPhrase(number) {
  const last = phrasesOf().length - 1;
  if (state.whole || number < 0 || number > last) return;
  pacer.reset();
  state.at = number;
  show();
  say(byId("place").textContent);
}

// A whole text tires as much as its phrases do.
function count() {
  const key = countKey();
  state.counts.set(key, countOf() + 1);
  state.total += 1;
  state.sinceRest += state.whole ? Math.max(1, phrasesOf().length) : 1;
  showCount();
  say(byId("counted").textContent);
  if (state.sinceRest >= restEvery) {
    state.sinceRest = 0;
    rest();
  }
}

// Rest

let restTimer = 0;

function rest() {
  pacer.reset();
  tone.stop();
  showTone();
  let left = REST_SECONDS;
  const tick = () => {
    byId("rest-time").textContent =
      left > 0 ? fill(words.restTime, { seconds: left }) : words.restOver;
    if (left === 0) clearInterval(restTimer);
    left -= 1;
  };
  tick();
  clearInterval(restTimer);
  restTimer = setInterval(tick, 1000);
  byId("rest").showModal();
  byId("rest-on").focus();
}

// Note

const audio = createAudio();
const tone = createTone(audio);

function showTone() {
  if (baseHz === null) return;
  const hz = toneHz();
  const { note, cents } = nameNote(hz);
  const button = byId("tone");
  button.textContent = fill(tone.isPlaying() ? words.toneStop : words.toneStart, { note });
  button.dataset.hz = hz.toFixed(3);
  button.dataset.playing = String(tone.isPlaying());
  const off = cents === 0 ? "" : ` ${cents > 0 ? "+" : "−"} ${Math.abs(cents)} cents`;
  byId("tone-now").textContent = `${note}${off} · ${hz.toFixed(1)} Hz`;
  byId("lower").disabled = !mayShift(-1);
  byId("higher").disabled = !mayShift(1);
  byId("home").hidden = state.shift === 0;
}

function mayShift(by) {
  const shift = state.shift + by;
  const hz = baseHz * 2 ** (shift / 12);
  return Math.abs(shift) <= SEMITONES && hz >= HERTZ[0] && hz <= HERTZ[1];
}

function shiftTone(by) {
  state.shift += by;
  tone.tune(toneHz());
  showTone();
  trace.paint();
  say(byId("tone-now").textContent);
}

async function toggleTone() {
  if (tone.isPlaying()) tone.stop();
  else {
    const started = tone.start(toneHz());
    showTone();
    await started;
  }
  showTone();
}

function startTone() {
  if (baseHz === null) return;
  if (!window.AudioContext) {
    byId("tone").hidden = byId("tone-keys").hidden = true;
    byId("tone-none").hidden = false;
    return;
  }
  byId("tone").addEventListener("click", toggleTone);
  byId("lower").addEventListener("click", () => shiftTone(-1));
  byId("higher").addEventListener("click", () => shiftTone(1));
  byId("home").addEventListener("click", () => {
    shiftTone(-state.shift);
    byId("higher").focus();
  });
  showTone();
}

// Pacer

const calm = matchMedia("(prefers-reduced-motion: reduce)");
const glide = () => (calm.matches ? "auto" : "smooth");

const pacer = createPacer({
  units: () => (state.whole ? phrasesOf() : phrasesOf().slice(state.at, state.at + 1)),
  rate: () => Number(byId("speed").value),
  // The style keeps room for what covers the edges (scroll-margin).
  onUnit: (unit) => unit.scrollIntoView({ block: "nearest", behavior: glide() }),
  onEnd: count,
  onChange: (running) => {
    byId("pacer").textContent = running ? words.pacerStop : words.pacerStart;
    byId("pacer").dataset.running = String(running);
  },
});

function togglePacer() {
  if (pacer.isRunning()) pacer.pause();
  else pacer.start();
}

function showSpeed() {
  const rate = Number(byId("speed").value).toFixed(1);
  byId("speed-now").textContent = fill(words.speedValue, { rate });
  byId("speed").setAttribute("aria-valuetext", byId("speed-now").textContent);
}

// Trace

const trace = createTrace({
  audio,
  canvas: byId("trace"),
  worklet: WORKLET_SOURCE,
  target: toneHz,
  onValue: showHeard,
  onSummary: (hz) => {
    const target = toneHz();
    const heard = nameNote(hz).note;
    byId("heard").textContent = target ? `${heard}, ${relate(hz, target)}` : heard;
  },
  onChange: (mode) => {
    const on = mode === "on";
    byId("listen").textContent = on || mode === "wait" ? words.traceStop : words.traceStart;
    byId("listen").dataset.state = mode;
    byId("live").hidden = !on;
    byId("trace-message").textContent = mode === "wait" ? words.traceWait : "";
    if (on) {
      showHeard(0);
      byId("trace-box").scrollIntoView({ block: "start", behavior: glide() });
    }
  },
});

let lastShown = 0;

function showHeard(hz) {
  const now = performance.now();
  const box = byId("heard-now");
  box.dataset.hz = hz ? hz.toFixed(3) : "";
  // Numbers that change faster can't be read.
  if (hz && now - lastShown < 120) return;
  lastShown = now;
  const target = toneHz();
  const text = hz ? describeHz(hz) : { note: "–", detail: words.traceQuiet };
  byId("heard-note").textContent = text.note;
  byId("heard-detail").textContent = text.detail;
  byId("heard-place").textContent = hz && target ? relate(hz, target) : "";
}

function relate(hz, target) {
  const off = semitonesAbove(target, hz);
  if (Math.abs(off) <= 0.5) return words.traceOn;
  const semitones = Math.abs(off).toFixed(1);
  return fill(off > 0 ? words.traceAbove : words.traceBelow, { semitones });
}

async function toggleTrace() {
  if (trace.isOn()) {
    trace.stop();
    return;
  }
  const problem = await trace.start();
  if (problem) {
    byId("trace-message").textContent = words[`trace_${problem}`];
    byId("trace-message").dataset.problem = problem;
  }
}

function startTrace() {
  const support = traceSupport();
  if (support !== "ok") {
    byId("listen").hidden = byId("trace-about").hidden = true;
    byId("trace-message").textContent = words[`trace_${support}`];
    byId("trace-message").dataset.problem = support;
    return;
  }
  byId("listen").addEventListener("click", toggleTrace);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => trace.paint());
}

// Keys. Space and arrows are left to the control that has the focus.

function onKey(event) {
  if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (finished() || byId("rest").open || phrasesOf().length === 0) return;
  if (event.target.closest("button, input, select, textarea, summary, a")) return;
  if (event.key === " ") togglePacer();
  else if (event.key === "ArrowLeft" && !state.whole) goToPhrase(state.at - 1);
  else if (event.key === "ArrowRight" && !state.whole) goToPhrase(state.at + 1);
  else return;
  event.preventDefault();
}

function start() {
  document.documentElement.classList.add("js");
  all("#steps button").forEach((button, number) => {
    button.addEventListener("click", () => goToStep(number));
  });
  byId("next-step").addEventListener("click", () => {
    const version = nextVersion();
    if (version === null) {
      goToStep(state.step + 1);
      all("#steps button")[state.step].focus();
    } else {
      goToVersion(version);
      byId("version").focus();
    }
    window.scrollTo(0, 0);
  });
  byId("version").addEventListener("change", (event) => goToVersion(event.target.value));
  all("input[name=view]").forEach((radio) => {
    radio.addEventListener("change", () => {
      pacer.reset();
      state.whole = radio.value === "whole" && radio.checked;
      show();
    });
  });
  byId("before").addEventListener("click", () => goToPhrase(state.at - 1));
  byId("after").addEventListener("click", () => goToPhrase(state.at + 1));
  byId("count").addEventListener("click", count);
  byId("pacer").addEventListener("click", togglePacer);
  byId("speed").addEventListener("input", showSpeed);
  byId("rest-on").addEventListener("click", () => byId("rest").close());
  byId("rest-stop").addEventListener("click", () => {
    byId("rest").close();
    goToStep(steps.length);
    all("#steps button")[steps.length].focus();
  });
  byId("rest").addEventListener("close", () => clearInterval(restTimer));
  document.addEventListener("keydown", onKey);
  // A page that nobody looks at makes no sound and hears none.
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) return;
    pacer.pause();
    tone.stop();
    showTone();
    trace.stop();
  });
  window.addEventListener("pagehide", () => {
    tone.stop();
    trace.stop();
  });
  // On paper, key and marks are open.
  let closed = [];
  window.addEventListener("beforeprint", () => {
    closed = all("details:not([open])");
    for (const part of closed) part.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const part of closed) part.open = false;
  });
  startTone();
  startTrace();
  showSpeed();
  show();
}

start();
