// One line recorded before and after, in this page's memory only.

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
    const samples = trimSilence(parts, rate);
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

// One row of samples, evened in level, without the silence at both ends.
function trimSilence(parts, rate) {
  const all = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  const peak = all.reduce((top, value) => Math.max(top, Math.abs(value)), 0);
  if (peak < 0.003) return all.subarray(0, 0);
  const loud = (value) => Math.abs(value) > 0.06 * peak;
  const margin = Math.round(0.15 * rate);
  const first = Math.max(0, all.findIndex(loud) - margin);
  const last = Math.min(all.length, all.findLastIndex(loud) + margin);
  return all.slice(first, last).map((value) => (0.7 * value) / peak);
}
