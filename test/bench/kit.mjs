/**
 * The kit of eight: against real time, and against Chromium's offline renderer on a graph wired alike,
 * a node of the W3C Web Audio API for each module.
 */

import { chromium } from 'playwright-core';
import { Take } from '../../dist/index.js';
import { browserPath } from './browser.mjs';
import { processorTime } from './clock.mjs';
import { examplePatch } from './patches.mjs';

export const title =
  "Kit of eight: engine against real time and against Chromium's OfflineAudioContext";

const RATE = 48_000;
/** s: some rounds of its song of four bars. */
const SECONDS = 40;
/** s at the start that are not counted: V8 has then compiled what it will. */
const WARM = 10;
const ROUNDS = 5;

export async function run() {
  const executablePath = browserPath();
  const patch = examplePatch('kit-of-eight.yaml');
  const { engine, native } = await costs(patch, executablePath);
  return [
    { what: 'OfflineAudioContext, a node a module', value: native, unit: 'ns/sample' },
    { what: 'engine', value: engine, unit: 'ns/sample' },
    { what: 'engine, times real time', value: 1e9 / RATE / engine, limit: 120, atLeast: true },
    {
      what: 'engine faster than Chromium, times',
      value: native / engine,
      limit: 2.5,
      atLeast: true,
    },
  ];
}

/** The least of some rounds by turns, ns a sample; each of whole songs, so that all hold the same strokes. */
async function costs(patch, executablePath) {
  const browser = await chromium.launch({
    executablePath,
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--disable-background-networking'],
  });
  let engine = Number.POSITIVE_INFINITY;
  let native = Number.POSITIVE_INFINITY;
  try {
    const page = await browser.newPage();
    const play = player(patch);
    const graph = { ...graphOf(patch), rate: RATE, seconds: SECONDS, rounds: 1 };
    for (let round = 0; round < ROUNDS; round++) {
      native = Math.min(native, (await page.evaluate(nativeRender, graph)) / (SECONDS * RATE));
      const start = processorTime();
      const frames = play(SECONDS);
      engine = Math.min(engine, (processorTime() - start) / frames);
    }
  } finally {
    await browser.close();
  }
  return { engine, native };
}

/** Plays on for so many seconds. */
function player(patch) {
  const take = new Take(patch, {
    sampleRate: RATE,
    length: { unit: 'seconds', value: WARM + ROUNDS * SECONDS },
    tail: { unit: 'seconds', value: 0 },
  });
  const play = (seconds) => {
    const from = take.frames;
    while (take.frames < from + seconds * RATE) take.read();
    return take.frames - from;
  };
  play(WARM);
  return play;
}

/** The patch as names, kinds and wires, multiples left out: a node can feed many. */
function graphOf(patch) {
  const kinds = Object.fromEntries(
    patch.modules.map(({ name, definition }) => [name, definition.kind]),
  );
  const into = new Map(patch.cables.map(({ from, to }) => [to.module, from]));
  const source = (ref) => (kinds[ref.module] === 'multiple' ? source(into.get(ref.module)) : ref);
  const wires = patch.cables
    .filter(({ to }) => kinds[to.module] !== 'multiple')
    .map(({ from, to }) => ({ from: source(from), to }));
  return { kinds, wires };
}

/**
 * Runs in the page: wall time, ns, since a page cannot see its processor time. Gates and accents are
 * steady sources with a pulse each half second, envelopes steady sources that charge and discharge.
 */
async function nativeRender({ kinds, wires, rate, seconds, rounds }) {
  let least = Number.POSITIVE_INFINITY;
  for (let round = 0; round < rounds; round++) {
    const context = new OfflineAudioContext(2, seconds * rate, rate);
    const pulses = (shape) => {
      const node = new ConstantSourceNode(context, { offset: 0 });
      for (let time = 0; time < seconds; time += 0.5) shape(node.offset, time);
      return node;
    };
    const gate = () =>
      pulses((offset, time) => {
        offset.setValueAtTime(1, time);
        offset.setValueAtTime(0, time + 0.01);
      });
    const envelope = () =>
      pulses((offset, time) => {
        offset.setTargetAtTime(1, time, 0.001);
        offset.setTargetAtTime(0, time + 0.01, 0.05);
      });
    const noise = () => {
      const buffer = context.createBuffer(1, rate, rate);
      const data = buffer.getChannelData(0);
      for (let i = 0; i < data.length; i++) data[i] = Math.random() - 0.5;
      return new AudioBufferSourceNode(context, { buffer, loop: true });
    };
    const made = {
      noise: () => [noise()],
      random: () => [envelope()],
      envelope: () => [envelope()],
      cluster: () =>
        [1, 1.7, 2.3, 3.9, 4.1, 6.3].map(
          (ratio) => new OscillatorNode(context, { type: 'square', frequency: 300 * ratio }),
        ),
      filter: () => [new BiquadFilterNode(context, { frequency: 2000, Q: 1 })],
      resonator: () => [new BiquadFilterNode(context, { type: 'bandpass', frequency: 200, Q: 40 })],
      'low-pass-gate': () => [
        new BiquadFilterNode(context, { type: 'lowpass', frequency: 800, Q: 1 }),
      ],
      amplifier: () => [new GainNode(context, { gain: 0 })],
      ring: () => [new GainNode(context, { gain: 0 })],
      attenuator: () => [new GainNode(context, { gain: 0.5 })],
      mixer: () => [new GainNode(context, { gain: 0.5 })],
      panner: () => [new StereoPannerNode(context, { pan: 0.3 })],
      shaper: () => [
        new WaveShaperNode(context, {
          curve: Float32Array.from({ length: 1025 }, (_, i) => Math.tanh((i - 512) / 256)),
          oversample: '4x',
        }),
      ],
      output: () => [new GainNode(context, { gain: 0.1 })],
    };
    const nodes = {};
    for (const [name, kind] of Object.entries(kinds)) {
      if (kind in made) nodes[name] = made[kind]();
      else if (kind !== 'multiple' && kind !== 'rhythm')
        throw new Error(`${name}: the graph has no node for a ${kind}`);
    }
    const gates = {};
    for (const { from, to } of wires) {
      if (kinds[from.module] === 'rhythm') gates[from.jack] ??= [gate()];
      const sources = kinds[from.module] === 'rhythm' ? gates[from.jack] : nodes[from.module];
      const [target] = nodes[to.module];
      // What only triggers has no counterpart: the envelopes run by themselves.
      if (kinds[to.module] === 'envelope' || kinds[to.module] === 'random') continue;
      const parameter =
        to.jack === 'control' || to.jack === 'b'
          ? (target.gain ?? target.detune)
          : to.jack === 'pitch' || to.jack === 'decay'
            ? target.detune
            : undefined;
      for (const source of sources) source.connect(parameter ?? target);
    }
    for (const node of [...Object.values(nodes), ...Object.values(gates)].flat()) node.start?.();
    const [output] = Object.entries(kinds).find(([, kind]) => kind === 'output');
    nodes[output][0].connect(context.destination);
    const start = performance.now();
    await context.startRendering();
    least = Math.min(least, (performance.now() - start) * 1e6);
  }
  return least;
}
