// Runs where the sound is: keeps the last samples, measures about 45 times a second and
// posts two numbers. No sound leaves it.
import { createDetector } from "./detector.js";

class NoteMeter extends AudioWorkletProcessor {
  constructor() {
    super();
    this.detector = createDetector(sampleRate);
    this.ring = new Float32Array(this.detector.size);
    this.frame = new Float32Array(this.detector.size);
    this.at = 0;
    this.filled = 0;
    this.wait = 0;
    this.hop = Math.round(sampleRate / 45);
    this.over = false;
    this.port.onmessage = () => {
      this.over = true;
    };
  }

  process(inputs) {
    const samples = inputs[0][0];
    if (!samples) return !this.over;
    const size = this.ring.length;
    for (const sample of samples) {
      this.ring[this.at] = sample;
      this.at = (this.at + 1) % size;
    }
    this.filled = Math.min(size, this.filled + samples.length);
    this.wait += samples.length;
    if (this.filled === size && this.wait >= this.hop) {
      this.wait = 0;
      this.frame.set(this.ring.subarray(this.at));
      this.frame.set(this.ring.subarray(0, this.at), size - this.at);
      this.port.postMessage(this.detector.detect(this.frame));
    }
    return !this.over;
  }
}

registerProcessor("note-meter", NoteMeter);
