// Pitch of a stretch of sound: the normalised square difference function of McLeod and
// Wyvill, "A smarter way to find pitch" (ICMC 2005), over a fixed window as in the
// difference function of de Cheveigné and Kawahara, "YIN" (J. Acoust. Soc. Am. 111, 2002).
// With a fixed window the function is exactly 1 at the period of any periodic sound, so
// the window's length gives no bias. The sound is thinned out first: below 2.5 kHz a voice is
// most regular and most of a room's noise is gone.

export const LOWEST_HZ = 60;
export const HIGHEST_HZ = 600;

// Seconds that are compared with what follows a period later.
const WINDOW = 0.028;
// Peaks lower than that are no periods; more than so many are never needed.
const LEAST = 0.3;
const MOST = 6;
// What a period an octave longer costs: each multiple of a period is one, too.
const LOWER = 0.05;
// Half the length of the interpolation, in lags.
const REACH = 7;

// Takes samples one by one, without what is below 40 Hz; every `step`th time gives one of a
// slower stream, otherwise nothing. A windowed sinc (Hann), so that nothing folds back.
export function createThinner(step) {
  const half = 4 * step;
  const taps = new Float32Array(2 * half + 1);
  for (let i = -half; i <= half; i += 1) {
    taps[i + half] = sinc((0.85 * i) / step) * (0.5 + 0.5 * Math.cos((Math.PI * i) / (half + 1)));
  }
  const sum = taps.reduce((all, tap) => all + tap, 0);
  const ring = new Float32Array(taps.length);
  let at = 0;
  let wait = 0;

  return (sample) => {
    if (step === 1) return sample;
    ring[at] = sample;
    at = (at + 1) % ring.length;
    wait += 1;
    if (wait < step) return undefined;
    wait = 0;
    let total = 0;
    for (let i = 0, from = at; i < taps.length; i += 1) {
      total += taps[i] * ring[from];
      from = from + 1 === ring.length ? 0 : from + 1;
    }
    return total / sum;
  };
}

// The last `size` of the samples that come.
export function createTail(size) {
  const row = new Float32Array(4 * size);
  let end = size;
  return {
    push(sample) {
      if (end === row.length) {
        row.copyWithin(0, end - size);
        end = size;
      }
      row[end] = sample;
      end += 1;
    },
    view: () => row.subarray(end - size, end),
  };
}

function sinc(x) {
  return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
}

// For sound of some 6 to 8 kHz.
export function createDetector(rate) {
  const window = Math.round(WINDOW * rate);
  const longest = Math.ceil(rate / LOWEST_HZ) + 1;
  const shortest = Math.floor(rate / (2 * HIGHEST_HZ));
  const highest = rate / HIGHEST_HZ;
  const curve = new Float32Array(longest + REACH + 3);
  const size = window + curve.length;
  const level = new Float32Array(size);

  // { power, peaks: [{ hz, height, gain }] } of `size` samples: the mean square, and the
  // periods that the sound may have, the likeliest first; height is 1 for a perfectly periodic
  // sound.
  function detect(samples) {
    const power = centre(samples, level);
    measure();
    const peaks = [];
    for (let lag = shortest; lag <= longest && power > 0; lag += 1) {
      if (curve[lag] < LEAST || curve[lag] < curve[lag - 1] || curve[lag] <= curve[lag + 1]) continue;
      const peak = refine(lag);
      const height = Math.min(1, peak.height);
      peaks.push({ hz: rate / peak.lag, height, gain: height - LOWER * Math.log2(peak.lag / highest) });
    }
    return { power, peaks: peaks.sort((a, b) => b.gain - a.gain).slice(0, MOST) };
  }

  // 1 where the sound equals itself so many samples later, -1 where it is upside down.
  function measure() {
    let first = 0;
    for (let i = 0; i < window; i += 1) first += level[i] * level[i];
    let second = first;
    for (let lag = 0; lag < curve.length; lag += 1) {
      let product = 0;
      for (let i = 0; i < window; i += 1) product += level[i] * level[i + lag];
      curve[lag] = (2 * product) / (first + second + 1e-12);
      second += level[lag + window] ** 2 - level[lag] ** 2;
    }
  }

  // Between lags the curve is that of the sound, which has no more than half the rate
  // (Boersma, "Accurate short-term analysis…", Proc. IFA Amsterdam 17, 1993).
  function between(lag) {
    const middle = Math.round(lag);
    let total = 0;
    let weights = 0;
    for (let at = middle - REACH; at <= middle + REACH; at += 1) {
      const off = lag - at;
      const weight = sinc(off) * (0.5 + 0.5 * Math.cos((Math.PI * off) / (REACH + 1)));
      total += curve[Math.abs(at)] * weight;
      weights += weight;
    }
    return total / weights;
  }

  function refine(at) {
    let peak = { lag: at, height: curve[at] };
    for (const step of [0.5, 0.8, 0.8]) {
      const top = parabola(between(peak.lag - step), between(peak.lag), between(peak.lag + step));
      peak = { lag: peak.lag + step * top.shift, height: top.height };
    }
    return peak;
  }

  return { size, detect };
}

// Copies without the mean; returns the mean square.
function centre(samples, out) {
  let sum = 0;
  for (let i = 0; i < out.length; i += 1) sum += samples[i];
  const mean = sum / out.length;
  let power = 0;
  for (let i = 0; i < out.length; i += 1) {
    out[i] = samples[i] - mean;
    power += out[i] * out[i];
  }
  return power / out.length;
}

// Top of the parabola through three points at -1, 0 and 1.
function parabola(left, middle, right) {
  const bend = left - 2 * middle + right;
  if (bend >= 0) return { shift: 0, height: middle };
  const shift = Math.max(-1, Math.min(1, (left - right) / (2 * bend)));
  return { shift, height: middle - ((left - right) * shift) / 4 };
}
