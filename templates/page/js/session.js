// Runs a session: each step of the plan in its time, until somebody pauses or it is over.
import { modelBeats, turnBeats } from "./lights.js";
import { firstStep, leadIn, modelSpeed, nextStep, stepBack, stepOn, stepSeconds } from "./plan.js";

const INHALE = 0.8;
const CLOSE = 0.5;
// What a rest is prolonged to when something is tight.
const LOOSEN = 30;

const isPart = ({ kind }) => kind === "note" || kind === "model" || kind === "turn";

export function createSession(tools) {
  const { tone, model, lights, takes, lineOf, phraseOf, hz, rate, shift, hears } = tools;
  const { onStep, onBreak } = tools;
  let session = null;
  let step = null;
  let running = false;
  // Grows with each step: what was begun before it is over.
  let token = 0;
  let timer = 0;
  let since = 0;
  let restEnd = 0;
  let turn = { heard: 0, guessed: 0 };
  let done = null;

  const now = () => performance.now() / 1000;

  function settle() {
    if (running) done.seconds += now() - since;
    since = now();
    // A microphone hears what sounds, but may miss half of it.
    const sound = hears() ? Math.max(turn.heard, turn.guessed / 2) : turn.guessed;
    for (const name of ["sound", "sinceRest", "sinceLong"]) done[name] += sound;
    turn = { heard: 0, guessed: 0 };
  }

  const facts = () => ({ ...done, elapsed: done.seconds, rate: rate() });

  function halt() {
    token += 1;
    clearTimeout(timer);
    lights.stop();
    model.stop();
    tone.stop();
    takes.stop();
  }

  function advance() {
    settle();
    if (step.kind === "turn") {
      done.turns += 1;
      done.lines.add(`${step.pass}/${step.phrase}`);
    }
    if (step.kind === "rest") rested();
    enter(nextStep(session, step, facts()));
  }

  function rested() {
    done.sinceRest = 0;
    if (step.long) done.sinceLong = 0;
  }

  function wait(seconds) {
    restEnd = now() + seconds;
    timer = setTimeout(advance, 1000 * seconds);
  }

  async function enter(next) {
    halt();
    step = next;
    restEnd = now() + stepSeconds(session, step, rate());
    if (step.kind === "rest") done.rests += 1;
    onStep(step);
    if (step.kind === "end") end();
    else if (running) await begin(token);
  }

  async function begin(mine) {
    const seconds = stepSeconds(session, step, rate());
    if (step.kind === "note") {
      if (!(await tone.start(hz())) && mine === token) onBreak("sound_stuck");
      if (mine !== token) return;
      model.prepare(lineOf(step));
      wait(seconds);
    } else if (step.kind === "model") {
      const line = lineOf(step);
      const speed = modelSpeed(line.seconds, line.syllables.length, rate());
      const heardAt = await model.play(line, speed, shift());
      if (mine !== token) return;
      if (!heardAt) onBreak(heardAt === null ? "sound_broken" : "sound_stuck");
      const beats = modelBeats(phraseOf(step), line, speed, CLOSE);
      lights.run(beats, advance, heardAt || performance.now());
    } else if (step.kind === "turn") {
      lights.run(turnBeats(phraseOf(step), rate, INHALE), advance);
    } else {
      if (step.kind === "before" || step.kind === "after") {
        const recording = await takes.start(step.kind);
        if (mine !== token) return;
        if (!recording) {
          advance();
          return;
        }
      }
      wait(seconds);
    }
  }

  // `from` is what a session had come to before its page was loaded anew: its step and what
  // was done.
  function start(plan, from = null) {
    session = plan;
    done = { seconds: 0, sound: 0, sinceRest: 0, sinceLong: 0, turns: 0, rests: 0, tight: 0 };
    done.lines = new Set();
    running = true;
    since = now();
    if (from === null) enter(firstStep(session));
    else {
      done = from.done;
      again(from.step);
    }
  }

  function pause() {
    if (!running) return;
    settle();
    running = false;
    halt();
  }

  // A line begins again with its note.
  function resume() {
    if (running || !step) return;
    running = true;
    since = now();
    again(step);
  }

  function again(at) {
    if (isPart(at)) enter(leadIn(session, at, true));
    else {
      if (at.kind === "rest") done.rests -= 1;
      enter(at);
    }
  }

  function jump(move) {
    if (!step || step.kind === "end") return;
    settle();
    if (step.kind === "rest") rested();
    enter(move(session, step, facts()));
  }

  function end() {
    settle();
    running = false;
    halt();
    step = null;
    tools.onEnd(done);
  }

  // In a rest it makes it longer; in a pause it is one.
  function tighten() {
    if (!step || step.kind === "end") return 0;
    done.tight += 1;
    const left = step.kind === "rest" && running ? restEnd - now() : 0;
    if (!running) {
      running = true;
      since = now();
      if (step.kind === "rest") done.rests -= 1;
      enter(step.kind === "rest" ? step : { ...step, kind: "rest", long: false, then: step });
    }
    clearTimeout(timer);
    wait(Math.max(LOOSEN, left));
    return done.tight;
  }

  function hear(seconds) {
    if (running && step.kind === "turn") turn.heard += seconds;
  }

  function beat(seconds) {
    if (step?.kind === "turn") turn.guessed += seconds;
  }

  // For the clock of the page.
  function time() {
    const live = running ? now() - since : 0;
    return { left: Math.max(0, session.limit - done.seconds - live), rest: restEnd - now() };
  }

  return {
    start, pause, resume, end, tighten, hear, beat, time,
    back: () => jump(stepBack),
    next: () => jump(stepOn),
    done: () => done,
    isRunning: () => running,
    isOpen: () => step !== null,
  };
}
