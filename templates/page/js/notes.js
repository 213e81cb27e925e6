// Notes of the equal-tempered scale, A4 = 440 Hz (ISO 16:1975), in scientific pitch notation.

const NAMES = ["C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B"];

export function semitonesAbove(low, high) {
  return 12 * Math.log2(high / low);
}

export function nameNote(hz) {
  const number = 69 + semitonesAbove(440, hz);
  const nearest = Math.round(number);
  return {
    note: `${NAMES[((nearest % 12) + 12) % 12]}${Math.floor(nearest / 12) - 1}`,
    cents: Math.round(100 * (number - nearest)),
  };
}

export function showCents(cents) {
  return cents === 0 ? "±0 cents" : `${cents > 0 ? "+" : "−"}${Math.abs(cents)} cents`;
}

export function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));
}
