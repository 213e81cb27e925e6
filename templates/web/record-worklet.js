// Runs where the sound is: posts what the microphone hears.
class Recorder extends AudioWorkletProcessor {
  process(inputs) {
    if (inputs[0][0]) this.port.postMessage(inputs[0][0].slice());
    return true;
  }
}
registerProcessor("recorder", Recorder);
