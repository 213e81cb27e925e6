// The second formant of a stretch of sound, by linear prediction: Burg's method (Burg 1975;
// as in Andersen, "On the calculation of filter coefficients for maximum entropy spectral
// analysis", Geophysics 39, 1974), and the roots of its polynomial by simultaneous iteration
// (Weierstrass 1891, Durand 1960, Kerner 1966).

// Seconds of sound; Hz above which sound is raised by 6 dB an octave.
const STRETCH = 0.05;
const RAISED = 50;
// Hz: how wide a formant may be, where the first begins, where the second may be.
const WIDEST = 500;
const FIRST = 200;
const SECOND = [850, 3500];
// The second is so much above the first.
const APART = 250;
const ROUNDS = 60;

export function createFormant(rate) {
  const size = Math.round(STRETCH * rate);
  // Two poles for each formant, one a kilohertz, and two for the slope (Markel and Gray 1976).
  const order = 2 * Math.round(rate / 2200) + 2;
  const raise = Math.exp((-2 * Math.PI * RAISED) / rate);
  const taper = Float64Array.from({ length: size }, (_, i) => {
    const x = (2 * (i + 0.5)) / size - 1;
    return Math.exp(-6 * x * x);
  });

  // Hz, or 0 where there is none, in `size` samples or more.
  function find(samples) {
    const row = new Float64Array(size);
    const from = samples.length - size;
    for (let i = 1; i < size; i += 1) {
      row[i] = (samples[from + i] - raise * samples[from + i - 1]) * taper[i];
    }
    const found = poles(predict(row, order))
      .map(({ x, y }) => ({
        hz: (Math.atan2(y, x) * rate) / (2 * Math.PI),
        width: (-Math.log(Math.hypot(x, y)) * rate) / Math.PI,
      }))
      .filter(({ hz, width }) => hz > FIRST && hz < SECOND[1] && Math.abs(width) < WIDEST)
      .map(({ hz }) => hz)
      .sort((a, b) => a - b);
    return found.find((hz) => hz > SECOND[0] && hz > found[0] + APART) ?? 0;
  }

  return { size, find };
}

// Coefficients 1, a1, a2… of the filter that leaves the least of a sound.
function predict(row, order) {
  const ahead = Float64Array.from(row);
  const behind = Float64Array.from(row);
  let filter = [1];
  for (let m = 1; m <= order; m += 1) {
    let product = 0;
    let power = 1e-30;
    for (let i = m; i < row.length; i += 1) {
      product += ahead[i] * behind[i - 1];
      power += ahead[i] ** 2 + behind[i - 1] ** 2;
    }
    const k = (-2 * product) / power;
    const longer = [...filter, 0];
    filter = longer.map((value, i) => value + k * longer[m - i]);
    for (let i = row.length - 1; i >= m; i -= 1) {
      const before = behind[i - 1];
      behind[i] = before + k * ahead[i];
      ahead[i] += k * before;
    }
  }
  return filter;
}

// Roots of z^n + a1 z^(n-1) + … with a positive imaginary part.
function poles(filter) {
  const count = filter.length - 1;
  const roots = Array.from({ length: count }, (_, i) => {
    const angle = (2 * Math.PI * (i + 0.25)) / count;
    return { x: 0.9 * Math.cos(angle), y: 0.9 * Math.sin(angle) };
  });
  let moved = 1;
  for (let round = 0; round < ROUNDS && moved > 1e-6; round += 1) {
    moved = 0;
    for (const root of roots) {
      let [x, y] = [1, 0];
      for (let i = 1; i <= count; i += 1) {
        [x, y] = [x * root.x - y * root.y + filter[i], x * root.y + y * root.x];
      }
      for (const other of roots) {
        if (other === root) continue;
        const [dx, dy] = [root.x - other.x, root.y - other.y];
        const size = dx * dx + dy * dy + 1e-30;
        [x, y] = [(x * dx + y * dy) / size, (y * dx - x * dy) / size];
      }
      root.x -= x;
      root.y -= y;
      moved = Math.max(moved, Math.abs(x) + Math.abs(y));
    }
  }
  return roots.filter(({ y }) => y > 1e-6);
}
