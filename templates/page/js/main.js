// The page around a session: choices, what is shown at each step, the end, the log. What a
// person does is kept in memory only; where a session is, with the tab (`remember`).
import { createAudio, canSound } from "./audio.js";
import { createDevice } from "./device.js";
import { createFront } from "./front.js";
import { createLights, restOf, syllablesOf } from "./lights.js";
import { addSession, countSessions, decodeLog, emptyLog, readLog, writeLog } from "./log.js";
import { createModel } from "./model.js";
import { fill, nameNote, semitonesAbove } from "./notes.js";
import { cutLines, makeLine } from "./own.js";
import { createSession } from "./session.js";
import { createTally } from "./tally.js";
import { createTakes } from "./takes.js";
import { createTone } from "./tone.js";
import { createTrace, describeHz, traceSupport } from "./trace.js";

const SEMITONES = 12;
const HERTZ = [50, 1000];
const STORE = "practice-log";
// Syllables a second that are no longer slow.
const QUICK = 2.5;

const byId = (id) => document.getElementById(id);
const put = (id, text) => (byId(id).textContent = text);
const hide = (id, away) => (byId(id).hidden = away);
const press = (actions) => {
  for (const [id, action] of Object.entries(actions)) byId(id).addEventListener("click", action);
};
const all = (selector, root = document) => [...root.querySelectorAll(selector)];
const settings = JSON.parse(byId("settings").textContent);
const lines = byId("sound") ? JSON.parse(byId("sound").textContent) : null;
const { words, steps } = settings;
// The last version of the last delivery; what a person types is practised like it.
const original = steps.at(-1).versions.at(-1);
const OWN = steps.push({ ...steps.at(-1), name: words.own, text: words.ownText, versions: ["own-lines"] }) - 1;
const phrasesOf = (version) => all(".ph", byId(version));
// One for each turn, the last one for all that follow.
const atTurn = (rows, turn) => rows[Math.min(turn, rows.length - 1)];
const picked = (name) => document.querySelector(`input[name=${name}]:checked`)?.value;

const state = { shift: 0, step: null, log: null, done: null, entry: null };
let plan = null;
// What was at work when the page was left, or while a session runs.
let listened = false;
let held = false;
let passes = [];

// A live region speaks only when its text changes.
function say(text) {
  const region = byId("say");
  region.textContent = region.textContent === text ? `${text}\u00a0` : text;
}

function tell(name) {
  put("message", name ? words[name] : "");
  byId("message").dataset.name = name;
}

// Sound

const toneHz = () => (settings.hz === null ? null : settings.hz * 2 ** (state.shift / 12));
const rate = () => Number(byId("speed").value);

const audio = createAudio(() => {
  if (!session.isRunning()) return;
  pause();
  tell("sound_taken");
});
const tone = createTone(audio);

function showTone() {
  if (settings.hz === null) return;
  const { note, cents } = nameNote(toneHz());
  const button = byId("tone");
  button.textContent = fill(tone.isPlaying() ? words.toneStop : words.toneStart, { note });
  button.dataset.hz = toneHz().toFixed(3);
  button.dataset.playing = String(tone.isPlaying());
  const off = cents === 0 ? "" : ` ${cents > 0 ? "+" : "−"} ${Math.abs(cents)} cents`;
  put("tone-now", `${note}${off} · ${toneHz().toFixed(1)} Hz`);
  put("note", `${note}${off}`);
  put("note-hz", `${Number(toneHz().toFixed(1))} Hz`);
  byId("lower").disabled = !mayShift(-1);
  byId("higher").disabled = !mayShift(1);
  hide("home", state.shift === 0);
}

function mayShift(by) {
  const hz = settings.hz * 2 ** ((state.shift + by) / 12);
  return Math.abs(state.shift + by) <= SEMITONES && hz >= HERTZ[0] && hz <= HERTZ[1];
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
    device.setKind(trace.isOn() ? "play-and-record" : "playback");
    const started = tone.start(toneHz());
    showTone();
    tell((await started) ? "" : "sound_stuck");
  }
  showTone();
}

function startTone() {
  if (settings.hz === null) return;
  hide("tone", !canSound());
  press({
    tone: toggleTone, lower: () => shiftTone(-1), higher: () => shiftTone(1),
    home: () => {
      shiftTone(-state.shift);
      byId("higher").focus();
    },
  });
  showTone();
}

// Microphone

let lastShown = 0;
let lastMeasure = 0;
const tally = createTally();
const front = createFront();

const trace = createTrace({
  audio,
  canvas: byId("trace"),
  worklet: WORKLET_SOURCE,
  aim: toneHz,
  onValue: (heard) => {
    const now = performance.now();
    if (heard.hz) {
      session.hear(Math.min(0.1, (now - lastMeasure) / 1000));
      if (session.isRunning() && state.step.kind === "turn") {
        tally.add(state.step, heard.hz, toneHz() ?? heard.hz);
      }
    }
    lastMeasure = now;
    showHeard(heard, now);
    if (front.stage() !== "off") showFront(heard);
  },
  onSummary: ({ hz, state: problem }) => {
    const { note } = nameNote(hz || 440);
    // In a session, other words are read out.
    if (session.isOpen()) return;
    put("heard", !hz ? words[`trace_${problem}`] : toneHz() ? `${note}, ${relate(hz)}` : note);
  },
  onChange: (mode) => {
    const on = mode === "on";
    for (const id of ["listen", "listen-too"]) {
      put(id, on || mode === "wait" ? words.traceStop : words.traceStart);
      byId(id).dataset.state = mode;
    }
    hide("live", !on);
    tell({ wait: "traceWait", lost: "trace_lost" }[mode] ?? "");
    device.setKind(on ? "play-and-record" : "playback");
    if (on) showHeard({ hz: 0, state: "" }, performance.now());
    fitStage();
  },
});

function showHeard({ hz, state: problem }, now) {
  const box = byId("heard-now");
  box.dataset.hz = hz ? hz.toFixed(3) : "";
  // Numbers that change faster can't be read.
  if (hz && now - lastShown < 120) return;
  lastShown = now;
  const text = hz ? describeHz(hz) : { note: "–", detail: words[problem ? `trace_${problem}` : "traceQuiet"] };
  put("heard-note", text.note);
  put("heard-detail", text.detail);
  put("heard-place", hz && toneHz() ? relate(hz) : "");
}

function relate(hz) {
  const off = semitonesAbove(toneHz(), hz);
  if (Math.abs(off) <= 0.5) return words.traceOn;
  return fill(off > 0 ? words.traceAbove : words.traceBelow, {
    semitones: Math.abs(off).toFixed(1),
  });
}

// A marker between a person's own "ah" and "ee": no number, and nothing is kept.
function showFront({ hz, f2 }) {
  if (!hz) front.rest();
  if (f2 && front.add(f2)) askFront();
  const place = front.place();
  hide("front-now", place === null);
  if (place !== null) byId("front-now").style.left = `${(80 * place).toFixed(0)}%`;
}

function askFront() {
  const stage = front.stage();
  tell(stage === "on" ? "" : `front_${stage}`);
  if (stage === "alike") endFront();
  hide("front", stage !== "on");
  if (stage === "on") say(words.front_on);
}

function endFront() {
  front.end();
  trace.widen(false);
  hide("front", true);
  put("show-front", words.frontStart);
}

async function toggleFront() {
  if (front.stage() !== "off") {
    endFront();
    tell("");
    return;
  }
  if (!(await listen())) return;
  front.begin();
  trace.widen(true);
  put("show-front", words.frontStop);
  askFront();
}

async function listen() {
  const problem = await trace.start();
  if (problem) tell(`trace_${problem}`);
  return trace.hears();
}

function toggleTrace() {
  if (trace.isOn()) trace.stop();
  else listen();
}

function startTrace() {
  const support = traceSupport();
  if (support !== "ok") {
    for (const id of ["listen", "listen-too", "show-front"]) hide(id, true);
    byId("takes").disabled = true;
    put("trace-note", words[`trace_${support}`]);
    return;
  }
  press({ listen: toggleTrace, "listen-too": toggleTrace, "show-front": toggleFront });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => trace.paint());
}

// Session

const takes = createTakes(audio, trace);
const device = createDevice({
  // A locked screen shows it: the title of no page.
  title: words.title,
  onPause: pause,
  onResume: resume,
  onBack: () => session.back(),
  onNext: () => session.next(),
  onDark: () => tell(byId("message").textContent ? byId("message").dataset.name : "screen"),
});

const lights = createLights((seconds) => session.beat(seconds));

const session = createSession({
  tone,
  model: createModel(audio),
  lights,
  takes,
  lineOf: ({ pass, phrase, turn }) => atTurn(lines?.[passes[pass]] ?? [], turn)?.[phrase],
  phraseOf: () => byId("stage").querySelector(".ph"),
  hz: toneHz,
  rate,
  shift: () => state.shift,
  hears: () => trace.hears(),
  onStep: showStep,
  onBreak: tell,
  onEnd: showEnd,
});

function makePlan() {
  const choice = picked("delivery");
  passes = choice === "all" ? [...steps.keys()].slice(0, OWN) : [Number(choice)];
  const own = passes[0] === OWN;
  const spoken = phrasesOf(steps[passes[0]].versions[0]);
  return {
    limit: 60 * Number(picked("minutes")),
    note: settings.hz !== null && canSound(),
    first: own ? 0 : Number(byId("first").value),
    takes: byId("takes").checked && trace.hears(),
    phrases: spoken.map((phrase) => ({
      said: syllablesOf(phrase).reduce((sum, { count }) => sum + count, 0),
      rest: restOf(phrase),
    })),
    passes: passes.map((number) => ({
      turns: Math.max(settings.repetitions, steps[number].versions.length),
      models: canSound() ? (lines?.[number] ?? []).map((row) => row.map((line) => line.seconds)) : [],
    })),
  };
}

async function startSession(from = null) {
  if (!["off", "on"].includes(front.stage())) endFront();
  tone.stop();
  showTone();
  tell("");
  takes.drop();
  tally.clear();
  // Before any waiting: browsers grant sound to a press only while it is fresh.
  const awake = audio.wake();
  device.setKind(trace.isOn() || byId("takes").checked ? "play-and-record" : "playback");
  device.start(canSound());
  // Asking for the microphone takes its time.
  byId("start").disabled = true;
  const refused = byId("takes").checked && !(await listen());
  const heard = await awake;
  byId("start").disabled = false;
  if (!canSound()) tell("sound_none");
  else if (!heard) tell("sound_stuck");
  else if (refused) tell("takesNone");
  plan = makePlan();
  show("session");
  session.start(plan, from);
  showRunning();
  byId("pause").focus();
}

// A phone may throw a page away while it is locked, and a hand may load it anew. Where a session
// is stays with this entry of the tab's own history: numbers only, gone with the tab.
function remember(place) {
  try {
    history.replaceState(place, "");
  } catch {
    // This browser has none for a file.
  }
}

function rememberPlace() {
  const { step } = state;
  if (passes[0] === OWN || /before|after|end/.test(step.kind)) return;
  const [minutes, delivery] = ["minutes", "delivery"].map(picked);
  const chosen = { minutes, delivery, first: byId("first").value, rate: rate(), shift: state.shift };
  remember({ chosen, step, done: session.done(), size: plan.phrases.length });
}

// Only where the page still has as many lines.
function offerPlace() {
  const place = history.state;
  if (place?.size !== phrasesOf(original).length) return;
  const { chosen } = place;
  for (const name of ["minutes", "delivery"]) {
    document.querySelector(`input[name=${name}][value="${chosen[name]}"]`).checked = true;
  }
  byId("first").value = chosen.first;
  byId("speed").value = chosen.rate;
  state.shift = chosen.shift;
  showSpeed();
  showTone();
  plan = makePlan();
  const left = nameTime(Math.max(0, plan.limit - place.done.seconds));
  put("carry-note", fill(words.carry, { place: namePlace(place.step), time: left }));
  hide("carry", false);
  press({ "carry-on": () => startSession(place) });
}

function show(view) {
  document.documentElement.dataset.view = view;
  for (const id of ["setup", "session", "end"]) hide(id, id !== view);
  if (view !== "setup") showText(false);
  // Next to what they are about.
  const next = { setup: "trace-note", session: "bar", end: "check" }[view];
  byId(next).before(byId("message"), byId("live"));
  window.scrollTo(0, 0);
}

function pause() {
  session.pause();
  if (session.isOpen()) rememberPlace();
  takes.stop();
  showRunning();
}

function resume() {
  tell("");
  audio.wake().then((heard) => {
    if (!heard && canSound()) tell("sound_stuck");
  });
  if (listened) listen();
  listened = false;
  session.resume();
  showRunning();
}

function showRunning() {
  const running = session.isRunning();
  put("pause", running ? words.pause : words.resume);
  hide("halted", running);
  hide("pace", !running);
  // The note is heard first in a session: too low or too high, it is moved in a pause.
  const keys = byId("tone-keys");
  if (keys) (session.isOpen() && !running ? byId("halted") : byId("tone-row")).before(keys);
  byId("session").classList.toggle("paused", !running);
  showTight();
  device.tell(running);
  // The sound stays awake: waking it for each note would come late.
  if (running !== held) {
    held = running;
    if (held) audio.open();
    else audio.release();
  }
  if (session.isOpen()) {
    showPhase();
    if (!running) say(words.paused);
  }
  fitStage();
}

function togglePause() {
  if (session.isRunning()) pause();
  else resume();
}

// Before and after are said in the original words.
function versionFor({ kind, pass, turn }) {
  const taken = kind === "before" || kind === "after";
  if (taken && passes[0] !== OWN) return original;
  return atTurn(steps[passes[pass]].versions, turn);
}

function showStep(step) {
  state.step = step;
  if (step.kind === "end") return;
  rememberPlace();
  // It was to be read before the words, and takes their room.
  if (byId("message").dataset.name === "screen" && step.kind === "turn") tell("");
  const { name } = steps[passes[step.pass]];
  put("place", namePlace(step));
  const phrase = phrasesOf(versionFor(step))[step.phrase];
  byId("session").dataset.kind = step.kind;
  if (step.kind === "intro") fillStage(name, [nameAim(steps[passes[step.pass]].text)]);
  else if (step.kind === "rest") fillStage("", words.restTexts);
  else showPhrase(phrase);
  showPhase();
  showTight();
  if (step.kind === "note" || (step.kind === "model" && step.turn === 0)) {
    const title = byId("stage").querySelector(".asked")?.textContent ?? "";
    say(`${byId("phase").textContent}. ${title} ${phrase.querySelector(".vh").textContent}`);
  } else if (step.kind === "rest" || step.kind === "intro") {
    say(`${byId("phase").textContent}. ${byId("stage").textContent}`);
  } else say(byId("phase").textContent);
  fitStage();
  tick();
}

// A text of several stands under its title: an answer under its question.
function showPhrase(phrase) {
  let title = phrase.closest("p");
  while (title && title.tagName !== "H3") title = title.previousElementSibling;
  const parts = [phrase.cloneNode(true)];
  if (title) parts.unshift(Object.assign(document.createElement("p"), { className: "asked", textContent: title.textContent }));
  byId("stage").replaceChildren(...parts);
}

const namePlace = ({ pass, phrase }) =>
  fill(words.place, { name: steps[passes[pass]].name, at: phrase + 1, of: plan.phrases.length });

// Instructions name the note of the sheet; here it may have been moved.
function nameAim(text) {
  if (state.shift === 0) return text;
  const { note } = nameNote(settings.hz);
  return text.replace(new RegExp(`${note}( [+−] \\d+ cents)?( \\([^)]*\\))?`), byId("tone-now").textContent);
}

function showPhase() {
  const { step } = state;
  const { turns } = plan.passes[step.pass];
  const names = { rest: step.long ? words.restLong : words.rest };
  names.turn = turns > 1 ? fill(words.turns, { at: step.turn + 1, of: turns }) : words.turn;
  put("phase", session.isRunning() || !session.isOpen()
    ? (names[step.kind] ?? words[step.kind])
    : words.paused);
  put("cue", cueOf(step, turns));
}

function cueOf({ kind, pass, turn }, turns) {
  if (kind === "intro") return pass === 0 || rate() > QUICK ? words.slowly : "";
  if (kind === "before" || kind === "after") return words.takeCue;
  if (kind === "rest") return "";
  const { cues } = steps[passes[pass]];
  return cues[turn === 0 ? 0 : turn + 1 < turns ? 1 : 2];
}

function fillStage(title, texts) {
  const parts = texts.map((text) => Object.assign(document.createElement("p"), { textContent: text }));
  if (title) parts.unshift(Object.assign(document.createElement("h2"), { textContent: title }));
  byId("stage").replaceChildren(...parts);
}

const WHOLE = 26; // pixels: from these on, no word is parted for the sake of larger letters

// Whether a word takes more rows than its neighbours.
function isParted(stage) {
  const heights = [...stage.querySelectorAll(".words > span")].map((word) => word.offsetHeight);
  return Math.max(...heights) > 1.4 * Math.min(...heights);
}

// The largest letters with which all of it is seen.
function fitStage() {
  const stage = byId("stage");
  if (byId("session").hidden) return;
  // With a large text of one's own, the words are larger, too.
  const scale = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
  let low = 17;
  let high = Math.round((stage.querySelector(".ph") ? 46 : 22) * Math.max(1, scale));
  while (low < high) {
    const size = Math.ceil((low + high) / 2);
    stage.style.fontSize = `${size}px`;
    const fits = stage.scrollHeight <= stage.clientHeight && stage.scrollWidth <= stage.clientWidth
      && !(size > WHOLE && isParted(stage));
    if (fits) low = size;
    else high = size - 1;
  }
  stage.style.fontSize = `${low}px`;
}

function tick() {
  if (!session.isOpen()) return;
  const { left, rest } = session.time();
  put("left", fill(words.left, { time: nameTime(left) }));
  byId("progress").value = 1 - left / plan.limit;
  if (state.step.kind === "rest" && session.isRunning()) {
    put("cue", fill(words.restTime, { seconds: Math.max(0, Math.ceil(rest)) }));
  }
}

function nameTime(left) {
  const seconds = Math.ceil(left);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

function showTight() {
  hide("tight", session.isRunning() && state.step?.kind !== "rest");
}

function tighten() {
  const paused = !session.isRunning();
  if (paused) tell("");
  const times = session.tighten();
  if (!times) return;
  if (paused) showRunning();
  fillStage("", times > 1 ? words.tightAgain : words.tightTexts);
  say(byId("stage").textContent);
  fitStage();
}

function setSpeed(by) {
  byId("speed").value = rate() + by;
  showSpeed();
  say(byId("speed-now").textContent);
  if (by > 0 && rate() > QUICK) put("cue", words.slowly);
}

function showSpeed() {
  put("speed-now", fill(words.speedValue, { rate: rate().toFixed(1) }));
  byId("speed").setAttribute("aria-valuetext", byId("speed-now").textContent);
  put("pace-now", fill(words.speedShort, { rate: rate().toFixed(1) }));
}

// End

function showEnd(done) {
  showRunning();
  remember(null);
  hide("carry", true);
  device.stop();
  trace.stop();
  tell("");
  show("end");
  const minutes = (seconds) => (seconds / 60).toFixed(seconds < 600 ? 1 : 0);
  state.done = done;
  put("done", done.turns
    ? [
        fill(words.done, {
          minutes: minutes(done.seconds),
          lines: done.lines.size,
          turns: done.turns,
          rests: done.rests,
        }),
        fill(words.doneSound, { minutes: minutes(done.sound) }),
        moveOn(done),
      ].join(" ")
    : words.doneNothing);
  showMeasured();
  const asked = byId("takes").checked;
  hide("taken", !asked);
  hide("taken-keys", takes.count() === 0);
  hide("taken-note", takes.count() > 0);
  nameTakes();
  put("taken-note", words.takesNone);
  const tension = ["none", "some", "strong"][Math.min(2, done.tight)];
  // What is true of this session, not of the one before.
  for (const box of all("#check input")) box.checked = false;
  byId("tension").querySelector(`[value=${tension}]`).checked = true;
  put("log-message", "");
  state.entry = null;
  byId("finish").focus();
}

// By line: how near a chant was to the note; how far other speech rose and fell.
function showMeasured() {
  const rows = tally.list().map(({ pass, phrase, near, span }) => {
    const onNote = passes[pass] === 0 && toneHz();
    const text = onNote
      ? fill(words.near, { share: Math.round(100 * near) })
      : fill(words.span, { semitones: span.toFixed(0) });
    return Object.assign(document.createElement("li"), { textContent: `${namePlace({ pass, phrase })}: ${text}` });
  });
  hide("measured", rows.length === 0);
  byId("measured-lines").replaceChildren(...rows);
}

// The next session begins where every delivery of this one came to.
function moveOn(done) {
  const keys = [...done.lines];
  const counts = passes.map((_, pass) => keys.filter((key) => key.startsWith(`${pass}/`)).length);
  const line = (plan.first + Math.min(...counts)) % plan.phrases.length;
  if (passes[0] === OWN) return "";
  byId("first").value = String(line);
  return line === plan.first ? "" : fill(words.doneNext, { line: line + 1 });
}

function playTakes() {
  if (takes.isPlaying()) {
    takes.halt();
    return;
  }
  put("play-takes", words.takesStop);
  takes.play(nameTakes);
}

function nameTakes() {
  put("play-takes", takes.count() > 1 ? words.takesPlay : words.takesOne);
}

function dropTakes() {
  takes.drop();
  hide("taken-keys", true);
  hide("taken-note", false);
  put("taken-note", words.takesGone);
  say(words.takesGone);
}

function returnToStart() {
  takes.drop();
  tell("");
  show("setup");
  showKept();
  byId("start").focus();
}

// Log

function storage() {
  try {
    return window.localStorage;
  } catch {
    return null;
  }
}

function showKept() {
  const kept = storage()?.getItem(STORE);
  const log = kept ? readLog(kept) : null;
  hide("kept", !log || Boolean(log.missing));
  if (byId("kept").hidden) return;
  hide("delete-log", false);
  state.log ??= log;
  put("kept-note", fill(words.logHere, { count: countSessions(log) }));
}

async function loadLog() {
  const [file] = byId("load-log").files;
  if (!file) return;
  const log = readLog(decodeLog(await file.arrayBuffer()));
  if (log.missing) {
    put("log-message", fill(words.logBad, { column: log.missing }));
    return;
  }
  state.log = log;
  state.entry = null;
  put("log-message", fill(words.logRead, { count: countSessions(log) }));
}

// The log with today's session, once. Its ticks are those of the moment.
function logText() {
  const today = new Date();
  const date = [today.getFullYear(), today.getMonth() + 1, today.getDate()];
  const ticks = all("#check input").map((box) => [box.name, box.checked ? "yes" : "no"]);
  state.entry ??= state.log ?? emptyLog();
  const log = addSession(state.entry, {
    date: date.map((part) => String(part).padStart(2, "0")).join("-"),
    unit: passes[0] === OWN ? "conversation" : "passage",
    version: passes.every((number) => number >= OWN - 1) ? "marked" : "full",
    minutes: Math.round(state.done.seconds / 6) / 10,
    tension: picked("tension"),
    ...Object.fromEntries(ticks),
  });
  state.log = log;
  return writeLog(log);
}

function saveLog() {
  const address = URL.createObjectURL(new Blob([logText()], { type: "text/csv" }));
  Object.assign(document.createElement("a"), { href: address, download: words.logName }).click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
  put("log-message", words.logSaved);
}

function keepLog() {
  hide("ask", true);
  try {
    window.localStorage.setItem(STORE, logText());
    put("log-message", words.logKept);
    showKept();
  } catch {
    put("log-message", words.logRefused);
  }
}

function deleteLog() {
  storage()?.removeItem(STORE);
  state.log = state.entry = null;
  put("log-message", "");
  put("kept-note", words.logDeleted);
  hide("delete-log", true);
  say(words.logDeleted);
}

function startLog() {
  byId("load-log").addEventListener("change", loadLog);
  // The same file may have changed since it was read.
  byId("load-log").addEventListener("click", () => (byId("load-log").value = ""));
  press({
    "save-log": saveLog, "keep-yes": keepLog, "delete-log": deleteLog,
    "keep-log": () => {
      hide("ask", false);
      byId("keep-no").focus();
    },
    "keep-no": () => {
      hide("ask", true);
      byId("keep-log").focus();
    },
  });
  showKept();
}

// Own words

function readOwn() {
  const lines = cutLines(byId("own").value);
  byId("own-lines").replaceChildren(...lines.map(makeLine));
  const box = document.querySelector(`input[name=delivery][value="${OWN}"]`);
  if (byId("own-choice").hidden === lines.length > 0) {
    (lines.length ? box : document.querySelector("input[value=all]")).checked = true;
  }
  hide("own-choice", lines.length === 0);
}

// Page

// Keys belong to the control that has the focus; the space bar pauses from anywhere but there.
function onKey(event) {
  if (!session.isOpen() || event.altKey || event.ctrlKey || event.metaKey) return;
  const own = event.target.closest("input, select, textarea, summary, a");
  const button = event.target.closest("button");
  if (event.key === "MediaPlayPause") togglePause();
  else if (own || event.repeat) return;
  else if (event.key === " " && !button) togglePause();
  else if (event.key === "ArrowLeft") session.back();
  else if (event.key === "ArrowRight") session.next();
  else return;
  event.preventDefault();
}

function showText(on) {
  document.documentElement.classList.toggle("look", on);
  byId("look").setAttribute("aria-expanded", String(on));
}

// A page that nobody looks at makes no sound and hears none.
function leave() {
  const wasRunning = session.isRunning();
  listened = session.isOpen() && (listened || trace.isOn());
  if (wasRunning) pause();
  tone.stop();
  takes.halt();
  trace.stop();
  showTone();
  if (wasRunning) tell("away");
}

function startPaper() {
  let closed = [];
  window.addEventListener("beforeprint", () => {
    closed = all("#help:not([open])");
    for (const part of closed) part.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const part of closed) part.open = false;
  });
}

function start() {
  document.documentElement.classList.add("js");
  byId("reader").append(Object.assign(document.createElement("div"), { className: "screen", id: "own-lines" }));
  byId("own").addEventListener("input", readOwn);
  phrasesOf(original).forEach((phrase, number) => {
    const text = `${number + 1}. ${phrase.querySelector(".vh").textContent.trim()}`;
    byId("first").append(new Option(text, String(number)));
  });
  press({
    start: () => startSession(), pause: togglePause, stop: () => session.end(), tight: tighten,
    back: () => session.back(), next: () => session.next(),
    slower: () => setSpeed(-0.1), faster: () => setSpeed(0.1),
    look: () => showText(!document.documentElement.classList.contains("look")),
    again: returnToStart, "play-takes": playTakes, "drop-takes": dropTakes,
  });
  byId("speed").addEventListener("input", showSpeed);
  document.addEventListener("keydown", onKey);
  // The window changes, or what is said above the words takes another line.
  if (window.ResizeObserver) new ResizeObserver(fitStage).observe(byId("stage"));
  else window.addEventListener("resize", fitStage);
  document.addEventListener("visibilitychange", () => document.hidden && leave());
  window.addEventListener("pagehide", leave);
  setInterval(tick, 250);
  startPaper();
  startTone();
  startTrace();
  startLog();
  showSpeed();
  show("setup");
  offerPlace();
}

start();
