// Runs where the sound is: posts what is heard, a few numbers some sixty times a second. No
// sound leaves it.
import { createMeter } from "./meter.js";

class NoteMeter extends AudioWorkletProcessor {
  constructor() {
    super();
    this.meter = createMeter(sampleRate);
    this.over = false;
    this.port.onmessage = ({ data }) => {
      if (data === "stop") this.over = true;
      else this.meter.widen(data === "wide");
    };
  }

  process(inputs) {
    const samples = inputs[0][0];
    if (samples) for (const heard of this.meter.push(samples)) this.port.postMessage(heard);
    return !this.over;
  }
}

registerProcessor("note-meter", NoteMeter);
