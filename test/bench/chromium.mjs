/** Eight voices of noise -> filter -> amplifier, against Chromium's own offline renderer. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { Renderer } from '../../dist/engine/renderer.js';
import { browserPath } from './browser.mjs';
import { processorTime } from './clock.mjs';
import { byHand, VOICES } from './eight-voices-c.mjs';
import { noiseVoices } from './patches.mjs';

export const title =
  "Engine against Chromium's OfflineAudioContext (W3C Web Audio API): 8 voices of noise, filter, gain";

const RATE = 48_000;
const SECONDS = 60;
const BLOCK = 128;
const ROUNDS = 5;

export async function run() {
  const executablePath = browserPath();
  const patch = noiseVoices(VOICES);
  const blocks = Math.floor((SECONDS * RATE) / BLOCK);
  const samples = blocks * BLOCK;
  const browser = await chromium.launch({
    executablePath,
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--disable-background-networking'],
  });
  const engineRender = () => {
    const renderer = new Renderer(patch, { sampleRate: RATE, edgesOf: () => () => undefined });
    const start = processorTime();
    for (let i = 0; i < blocks; i++) renderer.next();
    return processorTime() - start;
  };
  const folder = mkdtempSync(join(tmpdir(), 'forehear-'));
  const least = {};
  const note = (name, spent) => {
    least[name] = Math.min(least[name] ?? Number.POSITIVE_INFINITY, spent);
  };
  try {
    const inC = byHand(folder);
    const page = await browser.newPage();
    // By turns. Chromium's is wall time: a page cannot see its processor time.
    for (let round = 0; round < ROUNDS; round++) {
      const graph = { rate: RATE, seconds: SECONDS, voices: VOICES };
      note('plain', await page.evaluate(nativeRender, { ...graph, driven: false, made: false }));
      note('driven', await page.evaluate(nativeRender, { ...graph, driven: true, made: false }));
      note('made', await page.evaluate(nativeRender, { ...graph, driven: true, made: true }));
      note('engine', engineRender());
      if (inC !== undefined) note('c', inC(1).time * samples);
    }
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
  const { plain, driven, made, engine, c } = least;
  return [
    { what: 'OfflineAudioContext, gains fixed', value: plain / samples, unit: 'ns/sample' },
    {
      what: 'OfflineAudioContext, gains driven by a signal',
      value: driven / samples,
      unit: 'ns/sample',
    },
    { what: '... and its noise made, not looped', value: made / samples, unit: 'ns/sample' },
    { what: 'engine, gains driven, its noise made', value: engine / samples, unit: 'ns/sample' },
    {
      what: 'engine faster, though Chromium loops its noise, times',
      value: driven / engine,
      limit: 1.4,
      atLeast: true,
    },
    ...(c === undefined
      ? []
      : [{ what: 'C by hand faster, though Chromium loops its noise, times', value: driven / c }]),
    { what: 'engine faster, both making their noise, times', value: made / engine },
    { what: 'engine faster than fixed gains and looped noise, times', value: plain / engine },
  ];
}

/**
 * Runs in the page. Noise comes from a looped buffer, since Web Audio has no noise source of its own; if it
 * is `made`, from one as long as the render, filled while the clock runs.
 * `driven`: one steady source sets all gains, as a control voltage does in the patch.
 */
async function nativeRender({ rate, seconds, voices, driven, made }) {
  const context = new OfflineAudioContext(1, seconds * rate, rate);
  const control = new ConstantSourceNode(context, { offset: 0.1 });
  control.start();
  let spent = 0;
  for (let voice = 1; voice <= voices; voice++) {
    const buffer = context.createBuffer(1, made ? seconds * rate : rate, rate);
    const data = buffer.getChannelData(0);
    const start = performance.now();
    for (let i = 0; i < data.length; i++) data[i] = Math.random() - 0.5;
    if (made) spent += performance.now() - start;
    const source = new AudioBufferSourceNode(context, { buffer, loop: !made });
    const filter = new BiquadFilterNode(context, { frequency: 500 * voice, Q: 6 });
    const gain = new GainNode(context, { gain: driven ? 0 : 0.1 });
    if (driven) control.connect(gain.gain);
    source.connect(filter).connect(gain).connect(context.destination);
    source.start();
  }
  const start = performance.now();
  await context.startRendering();
  return (spent + performance.now() - start) * 1e6;
}
