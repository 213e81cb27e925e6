// Plays the spoken lines of the page.
import { stretch } from "./stretch.js";

// MP3 has silence before the sound, in samples of the file: 576 of the coder and 529 of the
// decoder. Some decoders cut it off.
const LEAD = 1105 / 22050;
const LOUDNESS = 0.9;

// Lines are { data, seconds, syllables }, as in the page's JSON.
export function createModel(audio) {
  const decoded = new Map();
  let playing = null;

  // Decoded samples without the file's silence. The last few are kept.
  async function load(context, line) {
    if (!decoded.has(line)) {
      const bytes = Uint8Array.from(atob(line.data), (sign) => sign.charCodeAt(0));
      const found = await context.decodeAudioData(bytes.buffer);
      const rate = found.sampleRate;
      const skip = found.duration > line.seconds + LEAD / 2 ? Math.round(LEAD * rate) : 0;
      const samples = found.getChannelData(0).subarray(skip, skip + Math.round(line.seconds * rate));
      decoded.set(line, { samples, rate });
      if (decoded.size > 6) decoded.delete(decoded.keys().next().value);
    }
    return decoded.get(line);
  }

  // Plays a line at a speed, a number of semitones above its own pitch. Gives the time in
  // milliseconds (performance.now) at which it is heard to begin, or NaN if it is not heard.
  async function play(line, speed, shift) {
    stop();
    const mine = { stopped: false };
    playing = mine;
    const context = await audio.open();
    mine.opened = true;
    try {
      if (context?.state !== "running" || mine.stopped) throw new Error("silent");
      const { samples, rate } = await load(context, line);
      if (mine.stopped) throw new Error("stopped");
      const ratio = 2 ** (shift / 12);
      const sound = stretch(samples, rate, speed / ratio);
      const buffer = new AudioBuffer({ length: sound.length, sampleRate: rate });
      buffer.copyToChannel(sound, 0);
      const source = new AudioBufferSourceNode(context, { buffer, playbackRate: ratio });
      mine.gain = new GainNode(context, { gain: LOUDNESS });
      source.connect(mine.gain).connect(context.destination);
      mine.source = source;
      source.onended = () => {
        if (playing === mine) stop();
      };
      const delay = context.outputLatency || context.baseLatency || 0;
      source.start();
      return performance.now() + 1000 * delay;
    } catch {
      const silent = context?.state !== "running" || mine.stopped;
      if (playing === mine) stop();
      return silent ? NaN : null;
    }
  }

  function stop() {
    if (!playing) return;
    const { source, gain } = playing;
    playing.stopped = true;
    if (source) {
      const now = gain.context.currentTime;
      gain.gain.setTargetAtTime(0, now, 0.015);
      source.stop(now + 0.08);
    }
    if (playing.opened) audio.release();
    playing = null;
  }

  // The next line, so that it waits for nothing.
  async function prepare(line) {
    if (audio.state() !== "running" || !line) return;
    const context = await audio.open();
    await load(context, line).catch(() => {});
    audio.release();
  }

  return { play, stop, prepare };
}
