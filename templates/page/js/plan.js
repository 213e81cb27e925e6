// What comes next in a session. Pure functions: the plan of a whole session is what they
// give when every step takes the time that it should.
//
// A session is { limit, passes, phrases, note, first, takes }: seconds; for each delivery
// { turns, models }, where models are of so many seconds by phrase, a row for each turn, the
// last row for all that follow; for each phrase its beats, { said, rest }; whether a note
// sounds; the phrase to begin with; whether one phrase is recorded before and after.
//
// A step is { kind, pass, phrase, turn }, a rest also { long, then }.

// Seconds of sound after which the voice rests (common practice: short turns).
const REST_AFTER = 60;
const LONG_AFTER = 300;
const LENGTHS = { intro: 7, note: 1.5, rest: 20, long: 60, gap: 0.5, breath: 0.8, take: 3 };

function turnSeconds(session, step, rate) {
  const { said, rest } = session.phrases[step.phrase];
  return LENGTHS.breath + (said + rest) / rate;
}

// Models keep the pace of the pacer, between half and twice their own.
export function modelSpeed(seconds, syllables, rate) {
  return Math.min(2, Math.max(0.5, (rate * seconds) / syllables));
}

// How long a step takes; Infinity where it waits for somebody.
export function stepSeconds(session, step, rate) {
  const model = modelSeconds(session, step);
  switch (step.kind) {
    case "turn":
      return turnSeconds(session, step, rate);
    case "model":
      return LENGTHS.gap + model / modelSpeed(model, session.phrases[step.phrase].said, rate);
    case "before":
    case "after":
      return LENGTHS.take + turnSeconds(session, step, rate);
    case "rest":
      return step.long ? LENGTHS.long : LENGTHS.rest;
    case "end":
      return Infinity;
    default:
      return LENGTHS[step.kind];
  }
}

function modelSeconds(session, { pass, phrase, turn }) {
  const rows = session.passes[pass].models;
  return rows[Math.min(turn, rows.length - 1)]?.[phrase];
}

const hasModel = (session, step) => modelSeconds(session, step) !== undefined;

// Where a turn begins: with the note, if it is the first of a phrase or has no model.
export function leadIn(session, place, fresh = false) {
  const { pass, phrase, turn } = place;
  const heard = hasModel(session, place);
  const wantsNote = session.note && (turn === 0 || fresh || !heard);
  const kind = wantsNote ? "note" : heard ? "model" : "turn";
  return { kind, pass, phrase, turn };
}

export function firstStep(session) {
  const at = { pass: 0, phrase: session.first, turn: 0 };
  return { kind: session.takes ? "before" : "intro", ...at };
}

function phraseSeconds(session, pass, phrase, rate) {
  let sum = 0;
  for (let turn = 0; turn < session.passes[pass].turns; turn += 1) {
    let step = leadIn(session, { pass, phrase, turn });
    for (; step.kind !== "turn"; step = follow(session, step)) {
      sum += stepSeconds(session, step, rate);
    }
    sum += stepSeconds(session, step, rate);
  }
  return sum;
}

function follow(session, step) {
  const kind = step.kind === "note" && hasModel(session, step) ? "model" : "turn";
  return { ...step, kind };
}

// Deliveries share the time; a phrase is begun if half of it fits.
function nextPhrase(session, step, facts) {
  const { pass } = step;
  const phrase = (step.phrase + 1) % session.phrases.length;
  const share = (session.limit * (pass + 1)) / session.passes.length;
  if (facts.elapsed + phraseSeconds(session, pass, phrase, facts.rate) / 2 < share) {
    return leadIn(session, { pass, phrase, turn: 0 });
  }
  const at = { phrase: session.first, turn: 0 };
  if (pass + 1 < session.passes.length) return { kind: "intro", pass: pass + 1, ...at };
  return { kind: session.takes ? "after" : "end", pass, ...at };
}

// Facts are { elapsed, sinceRest, sinceLong, rate }: seconds of the session, seconds of
// sound since a rest and since a long one, syllables a second.
export function nextStep(session, step, facts) {
  switch (step.kind) {
    case "before":
      return { ...step, kind: "intro" };
    case "intro":
      return leadIn(session, step);
    case "note":
    case "model":
      return follow(session, step);
    case "rest":
      return ["note", "model", "turn"].includes(step.then.kind)
        ? leadIn(session, step.then, true)
        : step.then;
    case "after":
    case "end":
      return { ...step, kind: "end" };
    default:
  }
  const then =
    step.turn + 1 < session.passes[step.pass].turns
      ? leadIn(session, { ...step, turn: step.turn + 1 })
      : nextPhrase(session, step, facts);
  if (facts.sinceRest < REST_AFTER || then.kind === "end" || then.kind === "after") return then;
  return { ...then, kind: "rest", long: facts.sinceLong >= LONG_AFTER, then };
}

// One tap: a phrase back, or on. Out of a rest, on to what it was before. No tap ends the time
// of a delivery.
export function stepBack(session, step) {
  if (step.kind === "before" || step.kind === "intro") return step;
  return leadIn(session, { ...step, phrase: Math.max(0, step.phrase - 1), turn: 0 });
}

export function stepOn(session, step, facts) {
  if (step.kind !== "note" && step.kind !== "model" && step.kind !== "turn") {
    return nextStep(session, step, facts);
  }
  const phrase = (step.phrase + 1) % session.phrases.length;
  return leadIn(session, { pass: step.pass, phrase, turn: 0 });
}
