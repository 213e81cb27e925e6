// One audio context for note, model and microphone, made at the first press of a button:
// browsers allow no sound before. It tells the truth about whether sound is heard.

const WAKE_MS = 2000;

export const canSound = () => Boolean(window.AudioContext ?? window.webkitAudioContext);

const pass = (milliseconds) => new Promise((done) => setTimeout(done, milliseconds));

// `onTaken` is called when the device stops the sound while it is in use.
export function createAudio(onTaken) {
  let context = null;
  let users = 0;

  function make() {
    const Context = window.AudioContext ?? window.webkitAudioContext;
    const made = new Context({ latencyHint: "interactive" });
    made.onstatechange = () => {
      if (made === context && users > 0 && made.state !== "running") onTaken();
    };
    return made;
  }

  // Wakes the sound; false where the browser holds it back.
  async function wake() {
    if (!canSound()) return false;
    if (context === null || context.state === "closed") context = make();
    if (context.state === "running") return true;
    // A browser may neither grant nor refuse.
    await Promise.race([context.resume().catch(() => {}), pass(WAKE_MS)]);
    return context.state === "running";
  }

  async function open() {
    users += 1;
    await wake();
    return context;
  }

  // Nobody needs it: let the device sleep.
  function release() {
    users = Math.max(0, users - 1);
    if (users === 0 && context?.state === "running") context.suspend();
  }

  return { wake, open, release, state: () => context?.state ?? "none" };
}
