// The reference note: a soft tone with a few harmonics, since the speaker of a phone
// hardly sounds below 300 Hz and the ear fills in the fundamental.

const HARMONICS = [0, 1, 0.4, 0.2, 0.1, 0.05];
const LOUDEST = 0.3;
const ATTACK = 0.08;
const RELEASE = 0.15;

export function createTone(audio) {
  let playing = null;

  // Whether it sounds: a browser may hold it back.
  async function start(hz) {
    if (playing) return true;
    const mine = { stopped: false };
    playing = mine;
    const context = await audio.open();
    if (mine.stopped || audio.state() !== "running") {
      audio.release();
      if (playing === mine) playing = null;
      return mine.stopped;
    }
    // The limiter evens the wave; the gain after it has the last word on the level.
    const limiter = new DynamicsCompressorNode(context, {
      threshold: -6,
      knee: 6,
      ratio: 20,
      attack: 0.003,
      release: 0.1,
    });
    const gain = new GainNode(context, { gain: 0 });
    const zeros = new Float32Array(HARMONICS.length);
    const wave = context.createPeriodicWave(zeros, new Float32Array(HARMONICS));
    const source = new OscillatorNode(context, { frequency: hz, periodicWave: wave });
    source.connect(limiter).connect(gain).connect(context.destination);
    const now = context.currentTime;
    gain.gain.setValueAtTime(0, now);
    gain.gain.linearRampToValueAtTime(LOUDEST, now + ATTACK);
    source.start(now);
    Object.assign(mine, { context, gain, source });
    return true;
  }

  function tune(hz) {
    if (!playing?.source) return;
    const { context, source } = playing;
    source.frequency.setTargetAtTime(hz, context.currentTime, 0.02);
  }

  function stop() {
    if (!playing) return;
    const { context, gain, source } = playing;
    playing.stopped = true;
    playing = null;
    if (!source) return;
    const now = context.currentTime;
    const level = gain.gain.value;
    gain.gain.cancelScheduledValues(now);
    gain.gain.setValueAtTime(level, now);
    gain.gain.linearRampToValueAtTime(0, now + RELEASE);
    source.onended = () => {
      gain.disconnect();
      audio.release();
    };
    source.stop(now + RELEASE + 0.02);
  }

  return { start, tune, stop, isPlaying: () => playing !== null };
}
