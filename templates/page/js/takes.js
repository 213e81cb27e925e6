// One line recorded before and after, in this page's memory only.
import { findPeak, joinParts, trimSilence } from "./trim.js";

const SILENT = 0.003;

export function createTakes(audio, trace) {
  const takes = new Map();
  let recording = null;
  let playing = null;

  // Records from the microphone that the trace has opened; false where there is none.
  async function start(name) {
    stop();
    const source = trace.source();
    if (!source) return false;
    const context = await audio.open();
    const parts = [];
    const node = new AudioWorkletNode(context, "line-recorder");
    const mute = new GainNode(context, { gain: 0 });
    node.port.onmessage = (event) => parts.push(event.data);
    source.connect(node).connect(mute).connect(context.destination);
    recording = { name, node, mute, source, parts, rate: context.sampleRate };
    return true;
  }

  function stop() {
    if (!recording) return;
    const { name, node, mute, source, parts, rate } = recording;
    recording = null;
    node.port.postMessage("stop");
    try {
      source.disconnect(node);
    } catch {
      // The microphone is gone already.
    }
    node.disconnect();
    mute.disconnect();
    audio.release();
    const samples = tidy(parts, rate);
    if (samples.length > rate / 4) takes.set(name, { samples, rate });
  }

  // Before, a pause, after.
  async function play(onEnd) {
    halt();
    const mine = { sources: [], stopped: false };
    playing = mine;
    const context = await audio.open();
    if (mine.stopped || context?.state !== "running") {
      if (playing === mine) playing = null;
      audio.release();
      onEnd();
      return;
    }
    let at = context.currentTime + 0.1;
    for (const { samples, rate } of ["before", "after"].flatMap((name) => takes.get(name) ?? [])) {
      const buffer = new AudioBuffer({ length: samples.length, sampleRate: rate });
      buffer.copyToChannel(samples, 0);
      const source = new AudioBufferSourceNode(context, { buffer });
      source.connect(context.destination);
      source.start(at);
      at += buffer.duration + 0.8;
      mine.sources.push(source);
    }
    mine.onEnd = onEnd;
    mine.timer = setTimeout(halt, 1000 * (at - context.currentTime - 0.5));
  }

  function halt() {
    if (!playing) return;
    const { sources, timer, onEnd } = playing;
    playing.stopped = true;
    playing = null;
    clearTimeout(timer);
    for (const source of sources) source.stop();
    if (onEnd) {
      audio.release();
      onEnd();
    }
  }

  function drop() {
    halt();
    recording?.parts.splice(0);
    stop();
    takes.clear();
  }

  return { start, stop, play, halt, drop, count: () => takes.size, isPlaying: () => playing !== null };
}

// Without silence, at the same level as the other; nothing where nothing was heard.
function tidy(parts, rate) {
  const all = joinParts(parts);
  const peak = findPeak(all);
  return trimSilence(peak < SILENT ? all.slice(0, 0) : all, rate).map((value) => (0.7 * value) / peak);
}
