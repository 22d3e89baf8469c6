/**
 * The script that watches a page for the tests: the engine's requests and answers, each source
 * that starts, the output to the loudspeaker, and what moves on the screen.
 */

/** Runs before anything of the page does. */
export const WATCH = `
const watch = { starts: [], loops: [], blocks: [], asked: 0, wholeFor: 0, sounds: [], shifts: [], letGo: [] };
globalThis.watch = watch;
// Where watch.isHeld says so of an answer, it and all after it are late, until each of watch.letGo is called.
// Requests that a whole sound answers. One that brings none does not count: what was asked before it may
// be on its way still.
const asks = [];
const takeBack = (id) => {
  const at = asks.indexOf(id);
  if (at >= 0) asks.splice(at, 1);
  watch.asked = asks.at(-1) ?? 0;
};

// What no sound of the loop answers.
const UNHEARD = ['clip', 'along', 'moves', 'figures', 'spectra', 'stroke'];
const PlainWorker = Worker;
globalThis.Worker = class extends PlainWorker {
  constructor(...options) {
    super(...options);
    const late = [];
    this.addEventListener('message', (event) => {
      if (late.includes(event) || (late.length === 0 && !watch.isHeld?.(event.data))) return;
      event.stopImmediatePropagation();
      late.push(new MessageEvent('message', { data: event.data }));
    });
    watch.letGo.push(() => {
      watch.isHeld = undefined;
      for (const event of [...late]) this.dispatchEvent(event);
      late.length = 0;
    });
    this.addEventListener('message', ({ data }) => {
      const { type, state } = data;
      if (type === 'refused' || type === 'failed' || (type === 'state' && state.view === undefined)) takeBack(data.id);
      // The last that a request is answered with.
      if (data.type === 'findings') watch.isChecked = true;
      if (data.type !== 'sound') return;
      const { sound, id } = data;
      if (watch.sounds.at(-1)?.id !== id)
        watch.sounds.push({ id, loop: new Float32Array(sound.frames), frames: sound.frames });
      watch.sounds.at(-1).loop.set(sound.channels[0], sound.from);
      if (sound.isWhole) watch.wholeFor = id;
    });
  }
  postMessage(request) {
    if (!UNHEARD.includes(request.type)) asks.push((watch.asked = request.id));
    super.postMessage(request);
  }
};

const plainStart = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (when, offset) {
  // What is written down takes time, which the player has not got to spare.
  plainStart.call(this, when, offset);
  const now = this.context.currentTime;
  const at = performance.now();
  watch.context = this.context;
  watch.loops.push(this.loop);
  const begun = { when, offset, now, at, rate: this.context.sampleRate };
  watch.starts.push(begun);
  // The loop is copied once the player is through.
  queueMicrotask(() => { begun.loop = this.buffer.getChannelData(0).slice(); });
};

const RECORDER = \`registerProcessor('recorder', class extends AudioWorkletProcessor {
  constructor() {
    super();
    this.port.onmessage = ({ data }) => this.port.postMessage(data);
    this.next = 0;
  }
  process([input]) {
    // Chromium does not set currentFrame while the page holds the lock of the graph: count on until it does.
    const frame = Math.max(currentFrame, this.next);
    const isAhead = frame > this.next;
    this.next = frame + 128;
    if (input[0]) this.port.postMessage([frame, input[0].slice(), isAhead]);
    return true;
  }
});\`;
const plainConnect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  // Each block of it is a message, which only pages whose sound is judged need.
  if (watch.wantsRecording && to instanceof AudioDestinationNode) {
    const address = URL.createObjectURL(new Blob([RECORDER], { type: 'text/javascript' }));
    this.context.audioWorklet.addModule(address).then(() => {
      const recorder = new AudioWorkletNode(this.context, 'recorder', { numberOfOutputs: 0 });
      let answered;
      recorder.port.onmessage = ({ data }) => {
        if (data === 'all?') answered();
        else {
          const [frame, samples, isAhead] = data;
          // What came before was counted from a frame that was not set yet.
          if (isAhead) watch.blocks.length = 0;
          watch.blocks.push([frame, samples]);
        }
      };
      // Messages keep their order: with this answer all that was recorded before is in the blocks.
      watch.allRecorded = () => new Promise((done) => {
        answered = done;
        recorder.port.postMessage('all?');
      });
      plainConnect.call(this, recorder);
      watch.isRecording = true;
    }, () => {});
  }
  return plainConnect.call(this, to, ...more);
};
new MutationObserver((_, observer) => {
  if (document.querySelector('.strip') !== null && !watch.isShown) {
    watch.isShown = true;
    // By the second frame the first is on the screen.
    requestAnimationFrame(() => requestAnimationFrame(() => { watch.shown = performance.now(); }));
  }
  if (document.querySelector('.strip .play:enabled') === null) return;
  watch.ready = performance.now();
  observer.disconnect();
}).observe(document, { subtree: true, childList: true, attributes: true });
new PerformanceObserver((list) => {
  for (const { value, startTime } of list.getEntries()) watch.shifts.push({ value, at: startTime });
}).observe({ type: 'layout-shift', buffered: true });
`;
