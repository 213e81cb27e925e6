// Hears a stream of samples, and says some sixty times a second what pitch is in it.
import { createDetector, createTail, createThinner } from "./detector.js";
import { createFormant } from "./formant.js";
import { createTracker } from "./tracker.js";

const FRAMES = 60;
const WIDE = 12000;
const TOP_HUM = 800;
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

// Takes away a hum that was heard: an adaptive canceller on each multiple of mains (Widrow et
// al., "Adaptive noise cancelling", Proc. IEEE 63, 1975). It learns fast where no
// voice is, and hardly anything while there is one.
function createHumFilter(rate) {
  let lines = [];
  let speed = 0;

  function adapt({ hz, mains }) {
    if (mains && lines[0]?.hz !== mains) {
      lines = Array.from({ length: Math.floor(TOP_HUM / mains) }, (_, k) => {
        const turn = (2 * Math.PI * mains * (k + 1)) / rate;
        return { hz: mains * (k + 1), cos: Math.cos(turn), sin: Math.sin(turn), x: 1, y: 0, a: 0, b: 0 };
      });
    }
    speed = (hz ? 0.1 : 4) / rate;
  }

  function clean(sample) {
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

// Mean power above about 1 kHz, by third differences, that comes again `lag` samples later.
function regular(samples, lag) {
  const sharp = (i) => samples[i] - 3 * samples[i - 1] + 3 * samples[i - 2] - samples[i - 3];
  const count = samples.length - lag - 3;
  let sum = 0;
  for (let i = 3; i < samples.length - lag; i += 1) sum += sharp(i) * sharp(i + lag);
  return sum / count;
}
