"""A script for pages that record, in browser tests of both faces."""

from typing import Final

COUNT_RECORDED: Final = """
window.recorded = window.sounded = 0;
const Node = window.AudioWorkletNode;
window.AudioWorkletNode = class extends Node {
  constructor(context, name, options) {
    super(context, name, options);
    if (name === "line-recorder") this.port.addEventListener("message", ({ data }) => {
      const seconds = data.length / context.sampleRate;
      window.recorded += seconds;
      if (data.some((value) => Math.abs(value) > 0.01)) window.sounded += seconds;
    });
  }
};
"""
"""How many seconds the page has recorded, and how many of them had sound in them: a busy machine
records later than it was asked to, and may lose a beep of the made microphone (0.02 s)."""

TWO_BEEPS: Final = "() => window.recorded > 1.5 && window.sounded > 0.03"
"""Whether what was recorded is long enough, from its first beep to its last, to be kept."""
