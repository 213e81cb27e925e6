// Hears a stream of samples, and says some sixty times a second what pitch is in it.
import { createDetector, createTail, createThinner } from "./detector.js";
import { createFormant } from "./formant.js";
import { createTracker } from "./tracker.js";

const FRAMES = 60;
const WIDE = 12000;
const TOP_HUM = 800;
// How fast a hum is followed: one over seconds.
const FOLLOW = 0.3;
// One frame of so many is asked for its second formant.
const EVERY = 3;

export function createMeter(rate) {
  const step = Math.max(1, Math.floor(rate / WIDE));
  const wideRate = rate / step;
  const thinFirst = createThinner(step);
  const narrow = createThinner(2);
  const detector = createDetector(wideRate / 2);
  const low = createTail(detector.size);
  const formant = createFormant(wideRate);
  const high = createTail(Math.max(2 * detector.size, formant.size));
  const tracker = createTracker();
  const hum = createHumFilter(wideRate / 2);
  const hop = Math.round(wideRate / FRAMES);
  const sharpen = (wideRate / WIDE) ** 6;
  const keep = 1 - (2 * Math.PI * 40) / wideRate;
  // Nothing is measured before there is enough.
  let wait = -2 * detector.size;
  let last = 0;
  let past = 0;
  let count = 0;
  let wide = false;

  // What the tracker says of each frame that ends in these samples.
  function push(samples) {
    const heard = [];
    for (const sample of samples) {
      const thin = thinFirst(sample);
      if (thin === undefined) continue;
      past = keep * past + thin - last;
      last = thin;
      high.push(past);
      const thinner = narrow(past);
      if (thinner !== undefined) low.push(hum.clean(thinner));
      wait += 1;
      if (wait === hop) {
        wait = 0;
        const one = tracker.follow(measure());
        hum.adapt(one);
        count += 1;
        const asked = wide && one.hz > 0 && count % EVERY === 0;
        heard.push(asked ? { ...one, f2: formant.find(high.view()) } : one);
      }
    }
    return heard;
  }

  function measure() {
    const { power, peaks } = detector.detect(low.view());
    const first = peaks[0];
    return {
      level: 10 * Math.log10(power + 1e-12),
      peaks,
      sharp: first ? (sharpen * regular(high.view(), Math.round(wideRate / first.hz))) / power : 0,
    };
  }

  return {
    push,
    // Whether second formants are wanted.
    widen: (on) => {
      wide = on;
    },
  };
}

// Takes away a hum that was heard: each multiple of mains as it was over the last third of a
// second, then followed by an adaptive canceller (Widrow et al., "Adaptive noise cancelling",
// Proc. IEEE 63, 1975), so slowly that no voice is taken for it.
function createHumFilter(rate) {
  const raw = createTail(Math.round(0.7 * rate));
  const speed = FOLLOW / rate;
  let known = 0;
  let lines = [];

  function adapt({ mains }) {
    if (!mains || mains === known) return;
    known = mains;
    lines = findLines(raw.view(), mains, rate);
  }

  function clean(sample) {
    raw.push(sample);
    let rest = sample;
    for (const one of lines) {
      [one.x, one.y] = [one.x * one.cos - one.y * one.sin, one.x * one.sin + one.y * one.cos];
      rest -= one.a * one.x + one.b * one.y;
    }
    for (const one of lines) {
      one.a += 2 * speed * rest * one.x;
      one.b += 2 * speed * rest * one.y;
    }
    return rest;
  }

  return { adapt, clean };
}

// The multiples of mains. Mains strays by a few hundredths of a hertz: how far, the strongest
// line tells by its phase in two stretches of whole periods, one after the other.
function findLines(heard, mains, rate) {
  const size = Math.round((rate * Math.floor(mains / 3)) / mains);
  const [first, second] = [heard.slice(-2 * size, -size), heard.slice(-size)];
  const multiples = Array.from({ length: Math.floor(TOP_HUM / mains) }, (_, k) => mains * (k + 1));
  const pairs = multiples.map((hz) => [measureLine(first, hz, rate), measureLine(second, hz, rate)]);
  const power = ([, { a, b }]) => a * a + b * b;
  const [before, after] = pairs.reduce((best, pair) => (power(pair) > power(best) ? pair : best));
  const turned = (size * after.turn) % (2 * Math.PI);
  const phase = Math.atan2(before.b, before.a) - Math.atan2(after.b, after.a);
  const stray = Math.atan2(Math.sin(phase - turned), Math.cos(phase - turned)) / (size * after.turn);
  return multiples.map((hz) => measureLine(second, hz * (1 + stray), rate));
}

// How far a line turns with each sample, where it is now, and how much of it there is.
function measureLine(heard, hz, rate) {
  const turn = (2 * Math.PI * hz) / rate;
  const line = { turn, cos: Math.cos(turn), sin: Math.sin(turn), x: 1, y: 0, a: 0, b: 0 };
  heard.forEach((value, i) => {
    const angle = turn * (i + 1 - heard.length);
    line.a += (2 * value * Math.cos(angle)) / heard.length;
    line.b += (2 * value * Math.sin(angle)) / heard.length;
  });
  return line;
}

// Mean power above about 1 kHz, by third differences, that comes again `lag` samples later.
function regular(samples, lag) {
  const sharp = (i) => samples[i] - 3 * samples[i - 1] + 3 * samples[i - 2] - samples[i - 3];
  const count = samples.length - lag - 3;
  let sum = 0;
  for (let i = 3; i < samples.length - lag; i += 1) sum += sharp(i) * sharp(i + lag);
  return sum / count;
}
