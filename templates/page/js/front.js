// How far to the front a vowel sounds, between a person's own "ah" and "ee", which are heard
// first, for two seconds each. Kept in memory only.

// Second formants, twenty a second; the first ones of "ah" may still be those of "ee".
const FULL = 40;
const WAIT = { ee: 0, ah: 10 };
const LAST = 7;
// Octaves that "ee" must be above "ah".
const APART = 0.3;

const middle = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];

export function createFront() {
  let stage = "off";
  let heard = [];
  let ends = {};

  function begin() {
    stage = "ee";
    heard = [];
    ends = {};
  }

  // A second formant in Hz; true where it brings the next stage: "ee", "ah", then "on", or
  // "alike" where the two can't be told apart.
  function add(hz) {
    heard.push(hz);
    if (stage === "on") heard = heard.slice(-LAST);
    if (stage === "on" || heard.length < FULL + WAIT[stage]) return false;
    ends[stage] = middle(heard.slice(-FULL));
    heard = [];
    if (stage === "ee") stage = "ah";
    else stage = ends.ee > ends.ah * 2 ** APART ? "on" : "alike";
    return true;
  }

  // 0 at the person's "ah", 1 at "ee", a little more beyond; null where nothing was heard.
  function place() {
    if (stage !== "on" || heard.length < LAST) return null;
    const share = Math.log(middle(heard) / ends.ah) / Math.log(ends.ee / ends.ah);
    return Math.min(1.25, Math.max(0, share));
  }

  return {
    begin,
    add,
    place,
    // Between vowels.
    rest: () => {
      if (stage === "on") heard = [];
    },
    end: () => {
      stage = "off";
    },
    stage: () => stage,
  };
}
