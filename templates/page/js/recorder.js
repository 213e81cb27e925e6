// Runs where the sound is: posts the samples of a recording until it is told to stop.

class LineRecorder extends AudioWorkletProcessor {
  constructor() {
    super();
    this.over = false;
    this.port.onmessage = () => {
      this.over = true;
    };
  }

  process(inputs) {
    if (inputs[0][0]) this.port.postMessage(inputs[0][0].slice());
    return !this.over;
  }
}

registerProcessor("line-recorder", LineRecorder);
