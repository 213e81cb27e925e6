// Lights one syllable after the other. Each beat is timed from the one before it, so
// that a late timer makes no drift.

export function createPacer({ units, rate, onUnit, onEnd, onChange }) {
  let timer = 0;
  let beats = [];
  let at = 0;
  let due = 0;
  let lit = null;

  // What is lit, for how many beats, and in which phrase; nothing is lit in a rest.
  function score() {
    return units().flatMap((unit) => {
      const syllables = [...unit.querySelectorAll("[data-n]")].map((element) => ({
        element,
        unit,
        length: Number(element.dataset.n),
      }));
      return [...syllables, { element: null, unit, length: Number(unit.dataset.rest) }];
    });
  }

  function light(element) {
    lit?.classList.remove("lit");
    lit = element;
    lit?.classList.add("lit");
  }

  function beat() {
    if (at >= beats.length) {
      reset();
      onEnd();
      return;
    }
    const { element, unit, length } = beats[at];
    if (at === 0 || beats[at - 1].unit !== unit) onUnit(unit);
    light(element);
    at += 1;
    due = Math.max(due, performance.now() - 200) + (1000 * length) / rate();
    timer = setTimeout(beat, Math.max(0, due - performance.now()));
  }

  function start() {
    if (timer) return;
    if (at === 0) beats = score();
    if (beats.length === 0) return;
    due = performance.now();
    onChange(true);
    beat();
  }

  // Stays where it is; the syllable that was cut short is lit again.
  function pause() {
    if (!timer) return;
    clearTimeout(timer);
    timer = 0;
    at = Math.max(0, at - 1);
    onChange(false);
  }

  function reset() {
    const running = timer !== 0;
    clearTimeout(timer);
    timer = 0;
    at = 0;
    light(null);
    if (running) onChange(false);
  }

  return { start, pause, reset, isRunning: () => timer !== 0 };
}
