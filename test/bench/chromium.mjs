/** Eight voices of noise -> filter -> amplifier, against Chromium's own offline renderer. */

import { existsSync } from 'node:fs';
import { chromium } from 'playwright-core';
import { Renderer } from '../../dist/engine/renderer.js';
import { leastTimes } from './clock.mjs';
import { noiseVoices } from './patches.mjs';

export const title =
  "Engine against Chromium's OfflineAudioContext (W3C Web Audio API): 8 voices of noise, filter, gain";

const RATE = 48_000;
const SECONDS = 60;
const BLOCK = 128;
const VOICES = 8;
/** Debian's, unless another is named. */
const BROWSER = process.env.CHROMIUM ?? '/usr/bin/chromium';

export async function run() {
  if (!existsSync(BROWSER))
    throw new Error(
      `${BROWSER} is missing: install Debian's chromium, or name another with CHROMIUM=...`,
    );
  const patch = noiseVoices(VOICES);
  const blocks = Math.floor((SECONDS * RATE) / BLOCK);
  const browser = await chromium.launch({
    executablePath: BROWSER,
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--disable-background-networking'],
  });
  let plain;
  let driven;
  try {
    const page = await browser.newPage();
    // Wall time, the best of five: a page cannot see its processor time.
    const graph = { rate: RATE, seconds: SECONDS, voices: VOICES };
    plain = await page.evaluate(nativeRender, { ...graph, driven: false });
    driven = await page.evaluate(nativeRender, { ...graph, driven: true });
  } finally {
    await browser.close();
  }
  // One render that goes on, as the command's does: V8 then knows each circuit.
  const renderer = new Renderer(patch, { sampleRate: RATE, edgesOf: () => () => undefined });
  const [engine] = leastTimes([
    () => {
      for (let i = 0; i < blocks; i++) renderer.next();
    },
  ]);
  const samples = blocks * BLOCK;
  return [
    { what: 'OfflineAudioContext, gains fixed', value: plain / samples, unit: 'ns/sample' },
    {
      what: 'OfflineAudioContext, gains driven by a signal',
      value: driven / samples,
      unit: 'ns/sample',
    },
    { what: 'engine, gains driven by a signal', value: engine / samples, unit: 'ns/sample' },
    {
      what: 'engine faster, gains driven in both, times',
      value: driven / engine,
      limit: 2.5,
      atLeast: true,
    },
    { what: 'engine faster than fixed gains, times', value: plain / engine },
  ];
}

/**
 * Runs in the page. Noise comes from a looped buffer, since Web Audio has no noise source of its own.
 * `driven`: one steady source sets all gains, as a control voltage does in the patch.
 */
async function nativeRender({ rate, seconds, voices, driven }) {
  let least = Number.POSITIVE_INFINITY;
  for (let round = 0; round < 5; round++) {
    const context = new OfflineAudioContext(1, seconds * rate, rate);
    const control = new ConstantSourceNode(context, { offset: 0.1 });
    control.start();
    for (let voice = 1; voice <= voices; voice++) {
      const buffer = context.createBuffer(1, rate, rate);
      const data = buffer.getChannelData(0);
      for (let i = 0; i < data.length; i++) data[i] = Math.random() - 0.5;
      const source = new AudioBufferSourceNode(context, { buffer, loop: true });
      const filter = new BiquadFilterNode(context, { frequency: 500 * voice, Q: 6 });
      const gain = new GainNode(context, { gain: driven ? 0 : 0.1 });
      if (driven) control.connect(gain.gain);
      source.connect(filter).connect(gain).connect(context.destination);
      source.start();
    }
    const start = performance.now();
    await context.startRendering();
    least = Math.min(least, (performance.now() - start) * 1e6);
  }
  return least;
}
