// What a recorder has posted, as one row.
export function joinParts(parts) {
  const all = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

export const findPeak = (samples) =>
  samples.reduce((top, value) => Math.max(top, Math.abs(value)), 0);

// Without the silence at both ends.
export function trimSilence(samples, rate) {
  const least = 0.06 * findPeak(samples);
  const isSoft = (at) => Math.abs(samples[at]) <= least;
  const margin = Math.round(0.15 * rate);
  let first = 0;
  let last = samples.length;
  while (first < last && isSoft(first)) first += 1;
  while (last > first && isSoft(last - 1)) last -= 1;
  return samples.slice(Math.max(0, first - margin), last + margin);
}
