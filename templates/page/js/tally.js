// What was heard in the turns of each line, for the end of a session. It is no score: it says
// how near to the note a chant stayed, and how far other speech rose and fell.
import { semitonesAbove } from "./notes.js";

// Half a semitone, 50 cents, to either side.
const NEAR = 0.5;
// Frames of less than half a second tell nothing.
const ENOUGH = 30;

export function createTally() {
  const lines = new Map();

  function add({ pass, phrase }, hz, aim) {
    const key = `${pass}/${phrase}`;
    if (!lines.has(key)) lines.set(key, { pass, phrase, near: 0, heights: [] });
    const line = lines.get(key);
    const height = semitonesAbove(aim, hz);
    line.heights.push(height);
    if (Math.abs(height) <= NEAR) line.near += 1;
  }

  // Share of the time near the target, and the span in semitones: from the 5th to the 95th of
  // a hundred (the span of Patterson, A linguistic
  // approach to pitch range modelling, 2000; from memory).
  function measure({ pass, phrase, near, heights }) {
    const sorted = [...heights].sort((a, b) => a - b);
    const at = (share) => sorted[Math.round(share * (sorted.length - 1))];
    return { pass, phrase, near: near / heights.length, span: at(0.95) - at(0.05) };
  }

  const list = () => [...lines.values()].filter(({ heights }) => heights.length >= ENOUGH).map(measure);

  return { add, list, clear: () => lines.clear() };
}
