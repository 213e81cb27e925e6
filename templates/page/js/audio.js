// One audio context for the note and the microphone, made at the first press of a button:
// browsers allow no sound before.

export function createAudio() {
  let context = null;
  let users = 0;

  async function open() {
    users += 1;
    context ??= new AudioContext({ latencyHint: "interactive" });
    if (context.state !== "running") await context.resume();
    return context;
  }

  // Nobody needs it: let the device sleep.
  function release() {
    users = Math.max(0, users - 1);
    if (users === 0 && context?.state === "running") context.suspend();
  }

  return { open, release };
}
