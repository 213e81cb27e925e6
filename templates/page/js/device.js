// What a phone does around a page: the screen that goes dark, the keys of a headset, the
// switch that mutes, the lock.

// A second of silence. While it plays, headset keys come to the page, and older iPhones
// let sound pass their mute switch.
function makeSilence() {
  const count = 8000;
  const bytes = new Uint8Array(44 + count).fill(128, 44);
  const view = new DataView(bytes.buffer);
  const put = (at, text) => [...text].forEach((sign, i) => (bytes[at + i] = sign.charCodeAt(0)));
  put(0, "RIFF");
  view.setUint32(4, 36 + count, true);
  put(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, 8000, true);
  view.setUint32(28, 8000, true);
  view.setUint16(32, 1, true);
  view.setUint16(34, 8, true);
  put(36, "data");
  view.setUint32(40, count, true);
  const sound = new Audio(`data:audio/wav;base64,${btoa(String.fromCharCode(...bytes))}`);
  sound.loop = true;
  return sound;
}

export function createDevice({ title, onPause, onResume, onBack, onNext, onDark }) {
  let lock = null;
  let wanted = false;
  let silence = null;

  async function hold() {
    if (!wanted || lock || document.hidden) return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => (lock = null));
      if (!wanted) lock.release();
    } catch {
      // No wake lock here, or none while the battery is low.
      if (wanted) onDark();
    }
  }

  // `kind` is "playback", which passes the mute switch, or "play-and-record".
  function setKind(kind) {
    if (navigator.audioSession) navigator.audioSession.type = kind;
  }

  function start(withSound) {
    wanted = true;
    hold();
    if (withSound) {
      silence ??= makeSilence();
      silence.play().catch(() => {});
    }
    const media = navigator.mediaSession;
    if (!media) return;
    if (window.MediaMetadata) media.metadata = new MediaMetadata({ title });
    const handlers = { play: onResume, pause: onPause, previoustrack: onBack, nexttrack: onNext };
    for (const [name, handler] of Object.entries(handlers)) {
      try {
        media.setActionHandler(name, handler);
      } catch {
        // This browser lacks that key.
      }
    }
  }

  function tell(running) {
    if (navigator.mediaSession) navigator.mediaSession.playbackState = running ? "playing" : "paused";
    if (running) {
      hold();
      silence?.play().catch(() => {});
    } else silence?.pause();
  }

  function stop() {
    wanted = false;
    lock?.release();
    lock = null;
    silence?.pause();
    if (navigator.mediaSession) navigator.mediaSession.playbackState = "none";
  }

  document.addEventListener("visibilitychange", hold);
  return { start, tell, stop, setKind };
}
