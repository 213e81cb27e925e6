// Speech slower or faster on the same pitch: overlap-add of stretches that are searched so
// that waves join (Verhelst and Roelands 1993, WSOLA; from memory).

const FRAME = 0.05;
const REACH = 0.012;
// The search looks at every so many samples: enough to find the wave.
const SKIP = 4;

export function stretch(samples, rate, speed) {
  if (Math.abs(speed - 1) < 0.01) return samples;
  const hop = Math.round((FRAME * rate) / 2);
  const size = 2 * hop;
  const reach = Math.round(REACH * rate);
  const window = Float32Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos((Math.PI * i) / hop));
  const out = new Float32Array(Math.round(samples.length / speed) + size);
  const weight = new Float32Array(out.length);
  let natural = 0;
  for (let to = 0; to + size <= out.length; to += hop) {
    const wanted = Math.round(to * speed);
    const from = to === 0 ? 0 : bestJoin(samples, natural, wanted, reach, hop);
    for (let i = 0; i < size && from + i < samples.length; i += 1) {
      out[to + i] += window[i] * samples[from + i];
      weight[to + i] += window[i];
    }
    natural = from + hop;
  }
  for (let i = 0; i < out.length; i += 1) if (weight[i] > 0.1) out[i] /= weight[i];
  return out.subarray(0, Math.round(samples.length / speed));
}

// Where, around `wanted`, the sound is most like what would follow naturally.
function bestJoin(samples, natural, wanted, reach, hop) {
  let best = Math.max(0, wanted);
  let top = -Infinity;
  const low = Math.max(0, wanted - reach);
  const high = Math.min(samples.length - hop, wanted + reach);
  for (let at = low; at <= high; at += 2) {
    let product = 0;
    let power = 1e-9;
    for (let i = 0; i < hop && natural + i < samples.length; i += SKIP) {
      const there = samples[at + i];
      product += there * samples[natural + i];
      power += there * there;
    }
    const score = product / Math.sqrt(power);
    if (score > top) {
      top = score;
      best = at;
    }
  }
  return best;
}
