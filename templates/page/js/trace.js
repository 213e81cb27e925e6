// The microphone's pitch as a line on a canvas. The line is written from left to right,
// like a hand on paper, and begins again at the left edge: nothing scrolls.
import { nameNote, semitonesAbove, showCents } from "./notes.js";

const SECONDS = 6;
// Semitones above and below the target; what is beyond runs along the edge.
const SPAN = 8;
const LEFT = 38;
const GAP = 0.35;
const LEAP_AT = 4;
const CALM_MS = 4000;
// A question that nobody answers is given up.
const PATIENCE_MS = 15_000;

// "ok", or the name of the message that says why there can be no trace.
export function traceSupport() {
  if (!window.isSecureContext || !navigator.mediaDevices?.getUserMedia) return "insecure";
  if (!window.AudioContext || !window.AudioWorkletNode) return "failed";
  return "ok";
}

export function createTrace({ audio, canvas, worklet, aim, onValue, onSummary, onChange }) {
  let session = null;
  let moduleReady = null;
  let points = [];
  let frame = 0;
  let spoken = -CALM_MS;
  let wide = false;

  // The name of what went wrong, or an empty string.
  async function start() {
    if (session) return "";
    const mine = { stopped: false };
    session = mine;
    onChange("wait");
    let stream;
    const asked = navigator.mediaDevices.getUserMedia({
      audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false },
    });
    let timer = 0;
    const silence = new Promise((_, fail) => {
      timer = setTimeout(() => fail(new DOMException("", "TimeoutError")), PATIENCE_MS);
    });
    try {
      stream = await Promise.race([asked, silence]);
    } catch (error) {
      // An answer that comes too late opens nothing.
      asked.then((late) => late.getTracks().forEach((track) => track.stop())).catch(() => {});
      if (session !== mine) return "";
      session = null;
      onChange("off");
      return { NotFoundError: "missing", TimeoutError: "silent" }[error.name] ?? "denied";
    } finally {
      clearTimeout(timer);
    }
    mine.stream = stream;
    if (mine.stopped) {
      letGo(mine);
      return "";
    }
    try {
      const context = await audio.open();
      mine.opened = true;
      moduleReady ??= loadModule(context);
      await moduleReady;
      mine.source = context.createMediaStreamSource(stream);
      mine.meter = new AudioWorkletNode(context, "note-meter");
      // A silent path to the speakers: some browsers run a node only if it leads there.
      mine.mute = new GainNode(context, { gain: 0 });
      mine.source.connect(mine.meter).connect(mine.mute).connect(context.destination);
      mine.meter.port.onmessage = (event) => take(event.data);
      widen(wide);
    } catch {
      moduleReady = null;
      stop();
      return "failed";
    }
    if (mine.stopped) {
      letGo(mine);
      return "";
    }
    stream.getAudioTracks()[0].onended = () => {
      stop();
      onChange("lost");
    };
    points = [];
    onChange("on");
    draw();
    return "";
  }

  // Whether second formants are wanted, too.
  function widen(on) {
    wide = on;
    session?.meter?.port.postMessage(on ? "wide" : "narrow");
  }

  // Not from a blob: address: a page opened from a folder has no origin, and browsers
  // then refuse it here.
  function loadModule(context) {
    const text = encodeURIComponent(worklet);
    return context.audioWorklet.addModule(`data:text/javascript;charset=utf-8,${text}`);
  }

  function letGo(one) {
    one.stream?.getTracks().forEach((track) => track.stop());
    one.source?.disconnect();
    one.meter?.port.postMessage("stop");
    one.meter?.disconnect();
    one.mute?.disconnect();
    if (one.opened) audio.release();
    one.opened = false;
  }

  function stop() {
    if (!session) return;
    session.stopped = true;
    letGo(session);
    session = null;
    cancelAnimationFrame(frame);
    points = [];
    onChange("off");
  }

  function take(heard) {
    const now = performance.now();
    points.push({ time: now, hz: heard.hz });
    while (points.length && now - points[0].time > 1000 * (SECONDS - GAP)) points.shift();
    onValue(heard);
    if ((heard.hz || heard.state) && now - spoken > CALM_MS) {
      spoken = now;
      onSummary(heard);
    }
  }

  function draw() {
    paint();
    if (session) frame = requestAnimationFrame(draw);
  }

  function paint() {
    const style = getComputedStyle(canvas);
    const colour = (name) => style.getPropertyValue(name).trim();
    const ratio = window.devicePixelRatio || 1;
    const width = canvas.clientWidth;
    const height = canvas.clientHeight;
    if (canvas.width !== Math.round(width * ratio)) canvas.width = Math.round(width * ratio);
    if (canvas.height !== Math.round(height * ratio)) canvas.height = Math.round(height * ratio);
    const pen = canvas.getContext("2d");
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, width, height);
    const centre = aim() ?? 196;
    const y = (hz) => height / 2 - (semitonesAbove(centre, hz) * height) / (2 * SPAN);
    if (aim()) {
      const band = height / (2 * SPAN);
      pen.fillStyle = colour("--band");
      pen.fillRect(LEFT - 4, height / 2 - band / 2, width, band);
      pen.fillStyle = colour("--accent");
      pen.fillRect(LEFT - 4, height / 2 - 0.5, width, 1);
    }
    pen.font = `12px ${style.fontFamily}`;
    pen.fillStyle = colour("--muted");
    pen.textBaseline = "middle";
    for (const step of [-6, -4, -2, 2, 4, 6]) {
      const at = height / 2 - (step * height) / (2 * SPAN);
      pen.globalAlpha = 0.25;
      pen.fillRect(LEFT - 4, at, width, 1);
      pen.globalAlpha = 1;
      if (height > 130 || step % 4 === 0) {
        pen.fillText(nameNote(centre * 2 ** (step / 12)).note, 4, at);
      }
    }
    pen.fillStyle = colour("--ink");
    pen.fillText(nameNote(centre).note, 4, height / 2);
    pen.strokeStyle = colour("--ink");
    pen.lineWidth = 2.5;
    pen.lineJoin = "round";
    pen.lineCap = "round";
    const place = (time) => ((time / 1000) % SECONDS) / SECONDS;
    let last = null;
    pen.beginPath();
    for (const point of points) {
      if (!point.hz) {
        last = null;
        continue;
      }
      const x = LEFT + place(point.time) * (width - LEFT - 6);
      const up = Math.max(3, Math.min(height - 3, y(point.hz)));
      // Nobody leaps like that within a vowel.
      const joins = last && x >= last.x && Math.abs(semitonesAbove(last.hz, point.hz)) < LEAP_AT;
      if (joins) pen.lineTo(x, up);
      else pen.moveTo(x, up);
      last = { x, hz: point.hz };
    }
    pen.stroke();
    const newest = points.at(-1);
    if (newest?.hz) {
      pen.beginPath();
      pen.arc(
        LEFT + place(newest.time) * (width - LEFT - 6),
        Math.max(5, Math.min(height - 5, y(newest.hz))),
        5,
        0,
        2 * Math.PI,
      );
      pen.fill();
    }
  }

  return {
    start,
    stop,
    paint,
    widen,
    isOn: () => session !== null,
    hears: () => Boolean(session?.meter),
    source: () => session?.source,
  };
}

export function describeHz(hz) {
  const { note, cents } = nameNote(hz);
  return { note, detail: `${showCents(cents)} · ${hz.toFixed(1)} Hz` };
}
