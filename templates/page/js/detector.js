// Pitch of a stretch of sound: the normalised square difference function of McLeod and
// Wyvill, "A smarter way to find pitch" (ICMC 2005), over a fixed window as in the
// difference function of de Cheveigné and Kawahara, "YIN" (J. Acoust. Soc. Am. 111, 2002).
// With a fixed window the function is exactly 1 at the period of any periodic sound, so
// the window's length gives no bias.

export const LOWEST_HZ = 60;
export const HIGHEST_HZ = 600;

// A sound is clear if its clarity, 1 for a perfectly periodic one, reaches this.
const CLEAR = 0.85;
// The first peak this near to the highest is the period; later ones are its multiples.
const NEAR_HIGHEST = 0.92;
// Root mean square below which a room is quiet (full scale is 1).
const QUIET = 0.002;
// Rate of the coarse search in Hz. The fine one uses the rate of the sound.
const COARSE_RATE = 12000;

export function createDetector(rate) {
  const window = Math.ceil((2 * rate) / LOWEST_HZ);
  const step = Math.max(1, Math.floor(rate / COARSE_RATE));
  const filter = lowPass(step);
  // A little more than the longest period, so that its peak has two sides.
  const longest = Math.ceil(rate / LOWEST_HZ) + 2 * step;
  const size = window + longest + filter.length + 1;
  const level = new Float32Array(size);
  const coarse = new Float32Array(Math.floor((size - filter.length) / step) + 1);
  const coarseWindow = Math.floor(window / step);
  const curve = new Float32Array(coarse.length - coarseWindow);

  // Hz and clarity of `size` samples; Hz is 0 where no pitch is heard.
  function detect(samples) {
    if (centre(samples, level) < QUIET) return { hz: 0, clarity: 0 };
    thin(level, filter, step, coarse);
    for (let lag = 0; lag < curve.length; lag += 1) {
      curve[lag] = likeness(coarse, coarseWindow, lag);
    }
    const guess = firstHighPeak(curve);
    if (guess === 0) return { hz: 0, clarity: 0 };
    return refine(guess * step);
  }

  function refine(guess) {
    let best = 0;
    let top = -1;
    const from = Math.max(1, Math.floor(guess) - step - 1);
    const to = Math.min(longest + 1, Math.ceil(guess) + step + 1);
    for (let lag = from; lag <= to; lag += 1) {
      const value = likeness(level, window, lag);
      if (value > top) {
        top = value;
        best = lag;
      }
    }
    const peak = parabola(
      likeness(level, window, best - 1),
      top,
      likeness(level, window, best + 1),
    );
    const hz = rate / (best + peak.shift);
    const clear = peak.height >= CLEAR && hz >= LOWEST_HZ && hz <= HIGHEST_HZ;
    return { hz: clear ? hz : 0, clarity: Math.min(1, peak.height) };
  }

  return { size, detect };
}

// Copies without the mean; returns the root mean square.
function centre(samples, out) {
  let sum = 0;
  for (let i = 0; i < out.length; i += 1) sum += samples[i];
  const mean = sum / out.length;
  let power = 0;
  for (let i = 0; i < out.length; i += 1) {
    out[i] = samples[i] - mean;
    power += out[i] * out[i];
  }
  return Math.sqrt(power / out.length);
}

// Windowed sinc (Hann), so that thinning out folds nothing back.
function lowPass(step) {
  if (step === 1) return new Float32Array([1]);
  const half = 4 * step;
  const taps = new Float32Array(2 * half + 1);
  let sum = 0;
  for (let i = -half; i <= half; i += 1) {
    const x = (Math.PI * i * 0.8) / step;
    const sinc = i === 0 ? 1 : Math.sin(x) / x;
    taps[i + half] = sinc * (0.5 + 0.5 * Math.cos((Math.PI * i) / (half + 1)));
    sum += taps[i + half];
  }
  return taps.map((tap) => tap / sum);
}

function thin(samples, filter, step, out) {
  for (let i = 0; i < out.length; i += 1) {
    let sum = 0;
    for (let j = 0; j < filter.length; j += 1) sum += samples[i * step + j] * filter[j];
    out[i] = sum;
  }
}

// 1 where the sound equals itself `lag` samples later, -1 where it is upside down.
function likeness(samples, window, lag) {
  let product = 0;
  let power = 1e-12;
  for (let i = 0; i < window; i += 1) {
    const a = samples[i];
    const b = samples[i + lag];
    product += a * b;
    power += a * a + b * b;
  }
  return (2 * product) / power;
}

// Lag of the first key maximum that comes near the highest; 0 if there is none. A key
// maximum is the highest point between an upward and the next downward zero crossing.
function firstHighPeak(curve) {
  let lag = 1;
  while (lag < curve.length && curve[lag] > 0) lag += 1;
  const peaks = [];
  let best = 0;
  for (; lag < curve.length - 1; lag += 1) {
    if (curve[lag] <= 0) {
      if (best) peaks.push(best);
      best = 0;
    } else if (
      curve[lag] >= curve[lag - 1] &&
      curve[lag] > curve[lag + 1] &&
      (!best || curve[lag] > curve[best])
    ) {
      best = lag;
    }
  }
  if (best) peaks.push(best);
  const found = peaks.map((at) => {
    const peak = parabola(curve[at - 1], curve[at], curve[at + 1]);
    return { lag: at + peak.shift, height: peak.height };
  });
  const highest = Math.max(0, ...found.map((peak) => peak.height));
  const first = found.find((peak) => peak.height >= NEAR_HIGHEST * highest);
  return first ? first.lag : 0;
}

// Top of the parabola through three points at -1, 0 and 1.
function parabola(left, middle, right) {
  const bend = left - 2 * middle + right;
  if (bend >= 0) return { shift: 0, height: middle };
  const shift = Math.max(-1, Math.min(1, (left - right) / (2 * bend)));
  return { shift, height: middle - ((left - right) * shift) / 4 };
}
