// What a phone does around a page: the screen that goes dark, the keys of a headset, the
// switch that mutes, the lock.

// A second of silence, as a WAV file: its head and first sample, then three samples a step.
// While it plays, headset keys come to the page, and older iPhones let sound pass their mute switch.
const HEAD = "UklGRmYfAABXQVZFZm10IBAAAAABAAEAQB8AAEAfAAABAAgAZGF0YUIfAACA";

function makeSilence() {
  const sound = new Audio(`data:audio/wav;base64,${HEAD}${"gICA".repeat(2667)}`);
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
