"""A script for pages that record, in browser tests of both faces."""

from typing import Final

COUNT_RECORDED: Final = """
window.recorded = 0;
const Node = window.AudioWorkletNode;
window.AudioWorkletNode = class extends Node {
  constructor(context, name, options) {
    super(context, name, options);
    if (name === "line-recorder") this.port.addEventListener("message", ({ data }) => {
      window.recorded += data.length / context.sampleRate;
    });
  }
};
"""
"""How many seconds the page has recorded: a busy machine records later than it was asked to."""
