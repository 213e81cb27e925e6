// Which of the periods of each frame is the voice's, if one is: the path through the frames
// that is best as a whole, as in Boersma, "Accurate short-term analysis of the fundamental
// frequency" (Proc. IFA Amsterdam 17, 1993), decided a few frames later. What is as loud as the
// room, and the hum of mains, is no voice.
import { HIGHEST_HZ } from "./detector.js";

// Gain from which a loud sound is voiced; what a leap of an octave costs, and to begin or to end.
const CLEAR = 0.5;
const LEAP = 0.4;
const TURN = 0.09;
const DELAY = 5;

// Decibels of full scale: nothing below is heard; a room above is loud.
const QUIET = -68;
const LOUD = -46;
// Decibels above the room where a sound must no longer be more regular.
const ABOVE = 6;
const MORE = 0.25;
// Decibels a frame that the room is held to be louder while nothing else is heard.
const CREEP = 0.2;

// The hum of mains of 50 and 60 Hz and of what rectifies them: octaves around a line;
// decibels within which it stays; share of its power that is regular above 1 kHz; frames after
// which it is hum if it is duller than that, and if not.
const LINES = [60, 100, 120];
const ON_LINE = 0.008;
const STEADY = 3;
const DULL = 1e-3;
const SOON = 45;
const LATE = 300;
// Frames after which what began is no longer new.
const BEGUN = 60;

// Frames over which is judged whether the page hears well; height of what may be a voice.
const RECENT = 90;
const TRIED = 0.6;

const octaves = (a, b) => Math.abs(Math.log2(a / b));

export function createTracker() {
  let paths = [{ hz: 0, score: 0, before: null, frame: null }];
  let room = -80;
  let person = -80;
  let steady = { line: 0, count: 0, low: 0, high: 0, sharp: 0 };
  let hum = null;
  let levels = [];
  let recent = [];

  // Frames are { level, sharp, peaks } with the level in decibels; what comes back is { hz,
  // level, state, mains } of the frame DELAY frames ago: 0 Hz where there is no voice, the state
  // "noisy" or "soft" where one can't be heard, the mains whose hum was heard lately, or 0.
  function follow(frame) {
    const loud = Math.min(1, Math.max(0, (frame.level - room) / ABOVE));
    frame.hum = isHum(frame);
    const none = frame.hum || frame.level < QUIET;
    const nodes = [{ hz: 0, gain: none ? 2 : CLEAR + MORE * (1 - loud) }, ...frame.peaks];
    paths = nodes.map(({ hz, gain }) => {
      const costs = paths.map((path) => path.score - fare(path.hz, hz));
      const score = Math.max(...costs);
      return { hz, score: score + gain, before: paths[costs.indexOf(score)], frame };
    });
    const height = Math.max(...paths.map((path) => path.score));
    let node = paths.find((path) => path.score === height);
    for (const path of paths) path.score -= height;
    for (let i = 0; i < DELAY && node.before; i += 1) node = node.before;
    node.before = null;
    return node.frame ? settle(node) : { hz: 0, level: -80, state: "", mains: 0 };
  }

  function settle({ hz, frame }) {
    const { level } = frame;
    const heard = hz > 0 && hz <= HIGHEST_HZ;
    if (heard) person += (level - person) / 20;
    else room += Math.min(CREEP, (level - room) / 5);
    room = Math.max(-90, Math.min(room, level + 1));
    const tried = !frame.hum && frame.peaks[0]?.height > TRIED && level > QUIET - 20;
    recent = [...recent.slice(1 - RECENT), { heard, tried }];
    return { hz: heard ? hz : 0, level, state: judge(), mains: hum?.mains ?? 0 };
  }

  function judge() {
    const share = (name) => recent.filter((one) => one[name]).length / RECENT;
    if (recent.length < RECENT || share("heard") > 0.1) return "";
    if (room > LOUD && person < room + ABOVE) return "noisy";
    return room <= LOUD && share("tried") > 0.4 ? "soft" : "";
  }

  // A hum stays on its line and as loud as it is, and did not just begin.
  function isHum({ level, sharp, peaks }) {
    const hz = peaks[0]?.hz;
    // What is left of a hum that is taken away strays.
    const reach = hum ? 3 * ON_LINE : ON_LINE;
    const line = LINES.find((one) => hz && octaves(one, hz) < reach);
    levels = [...levels.slice(1 - BEGUN), level];
    if (!line) return false;
    const low = Math.min(level, steady.low);
    const high = Math.max(level, steady.high);
    const same = line === steady.line && high - low < STEADY;
    const count = same ? steady.count + 1 : 0;
    const mean = same ? steady.sharp + (sharp - steady.sharp) / Math.min(count + 1, SOON) : sharp;
    steady = { line, count, sharp: mean, ...(same ? { low, high } : { low: level, high: level }) };
    const dull = mean < DULL;
    if (count >= (dull ? SOON : LATE)) hum = { level, mains: line % 60 ? 50 : 60 };
    if (dull && level < Math.min(...levels) + 2 * STEADY) return true;
    if (!hum || level > hum.level + STEADY) return false;
    hum.level += (level - hum.level) / SOON;
    return true;
  }

  return { follow };
}

function fare(from, to) {
  if (from === 0 && to === 0) return 0;
  if (from === 0 || to === 0) return TURN;
  return LEAP * octaves(from, to);
}
