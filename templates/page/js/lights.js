// Lights one syllable after the other. Each beat is timed from the one before it, so that a
// late timer makes no drift.

export function createLights(onBeat) {
  let timer = 0;
  let lit = null;

  function light(element) {
    lit?.classList.remove("lit");
    lit = element;
    lit?.classList.add("lit");
    // Moves nothing unless the words don't fit a zoomed screen.
    lit?.scrollIntoView({ block: "nearest" });
  }

  // Beats are { element, seconds() }; element is null where nothing is lit. Seconds are asked
  // for when the beat begins, so that the speed may change. `begin` is a time of
  // performance.now().
  function run(beats, onEnd, begin = performance.now()) {
    stop();
    let due = begin;
    let at = 0;
    const beat = () => {
      if (at >= beats.length) {
        stop();
        onEnd();
        return;
      }
      const { element, seconds } = beats[at];
      const length = seconds();
      light(element);
      if (element) onBeat(length);
      at += 1;
      due = Math.max(due, performance.now() - 200) + 1000 * length;
      timer = setTimeout(beat, Math.max(0, due - performance.now()));
    };
    timer = setTimeout(beat, Math.max(0, due - performance.now()));
  }

  function stop() {
    clearTimeout(timer);
    timer = 0;
    light(null);
  }

  return { run, stop };
}

// The syllables of a phrase on the page, and how many beats each has.
export function syllablesOf(phrase) {
  return [...phrase.querySelectorAll("i")].map((element) => ({
    element,
    count: Number(element.dataset.n ?? 1),
  }));
}

// Beats of silence at its end.
export const restOf = (phrase) => Number(phrase.dataset.rest ?? 1);

// In the client's turn: a breath, the syllables at the speed, the wait at the end.
export function turnBeats(phrase, rate, breath) {
  const rest = restOf(phrase);
  return [
    { element: null, seconds: () => breath },
    ...syllablesOf(phrase).map(({ element, count }) => ({
      element,
      seconds: () => count / rate(),
    })),
    { element: null, seconds: () => rest / rate() },
  ];
}

// In step with a model that is played at a speed.
export function modelBeats(phrase, { syllables, seconds }, speed, gap) {
  let at = 0;
  const parts = syllablesOf(phrase).map(({ element, count }) => {
    const start = syllables[at];
    at += count;
    const end = syllables[at] ?? seconds;
    return { element, seconds: () => (end - start) / speed };
  });
  return [
    { element: null, seconds: () => (syllables[0] ?? 0) / speed },
    ...parts,
    { element: null, seconds: () => gap },
  ];
}
