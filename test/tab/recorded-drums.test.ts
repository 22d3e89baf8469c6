// Drums as sound, played by hand with swing, flams, drags and ruffs, all the way to drum tab: against the
// line that was played. The grace strokes are 5 dB softer than the main ones.

import { describe, expect, it } from 'vitest';
import { EventMeter } from '../../src/measure/hits/events.ts';
import { hitsMusic } from '../../src/tab/hits-music.ts';
import { transcribe } from '../../src/tab/transcribe.ts';
import { close } from '../close.ts';
import { gaussian, type HitSpec, hits } from '../measure/synthesis.ts';

const RATE = 24_000;
/** Beats a minute, and where off-steps come. */
const FEELS = [
  [80, 0.58],
  [100, 0.66],
  [125, 0.5],
  [160, 0.62],
] as const;
const BARS = 2;
/** f is a flam, d a drag, r a ruff. */
const LINES = ['f-xx x-fx f-xx x-xf', 'd-x- x-xx d-x- x-x-', 'x-x- r-x- f-x- d-x-'];
/** How long before the main stroke, s. */
const GRACES: Record<string, readonly number[]> = {
  f: [0.02],
  d: [0.027, 0.054],
  r: [0.024, 0.048, 0.072],
};

const DRUMS: Record<string, readonly Omit<HitSpec, 'at'>[]> = {
  kick: [
    { tau: 0.05, amplitude: 0.4, hz: 50, fall: { octaves: 2, tau: 0.02 } },
    { tau: 0.003, amplitude: 0.2 },
  ],
  snare: [
    { tau: 0.022, amplitude: 0.2 },
    { tau: 0.03, amplitude: 0.1, hz: 190 },
  ],
  hat: [{ tau: 0.012, amplitude: 0.2 }],
};

function recording(drum: string, line: string, bpm: number, share: number): Float64Array {
  const random = gaussian(`${drum} ${line} ${bpm}`);
  const signs = [...line.replaceAll(' ', '').repeat(BARS)];
  const specs = signs.flatMap((sign, step) => {
    if (sign === '-') return [];
    const quarters = (step + (step % 2 === 1 ? 2 * share - 1 : 0)) / 4;
    const main = 0.3 + (quarters * 60) / bpm + 0.002 * random();
    const strokes = [0, ...(GRACES[sign] ?? [])];
    return strokes.flatMap((early) =>
      (DRUMS[drum] as readonly HitSpec[]).map((part) => ({
        ...part,
        at: main - early,
        // By then it has fallen by 70 dB.
        until: 8 * part.tau,
        amplitude: part.amplitude * (early === 0 ? 1 : 10 ** (-5 / 20)),
      })),
    );
  });
  return hits(0.6 + (signs.length * 15) / bpm, RATE, specs, 0.0001);
}

describe('a recorded', () => {
  it.each(Object.keys(DRUMS))('%s has its tempo, and its strokes on their steps', (drum) => {
    let [steps, right, flams, heard] = [0, 0, 0, 0];
    for (const [index, line] of LINES.entries())
      for (const [bpm, share] of index % 2 === 0 ? FEELS.slice(0, 2) : FEELS.slice(2)) {
        const samples = recording(drum, line, bpm, share);
        const meter = new EventMeter(RATE, 1, { hitSpectra: false });
        meter.add({ channels: [samples], frames: samples.length });
        const { hits: found, tempo } = meter.finish();
        // Onsets do not tell a tempo from its half or double.
        const ratios = [0.5, 1, 2].map((times) => (tempo?.bpm ?? 0) / times / bpm);
        const nearest = ratios.reduce((a, b) => (Math.abs(b - 1) < Math.abs(a - 1) ? b : a));
        close(nearest, 1, {
          abs: 0.005,
          unit: '',
          why: `strokes are scattered by 2 ms; ${line} at ${bpm}: ${tempo?.bpm}`,
        });
        const tab = transcribe(hitsMusic(found, bpm));
        const played = [...line.replaceAll(' ', '')];
        for (const { pattern } of tab.bars.slice(0, BARS)) {
          const one = tab.patterns.find(({ name }) => name === pattern);
          const written = one?.stepsPerQuarter === 4 ? (one.lines[0]?.steps ?? []) : [];
          for (const [step, sign] of played.entries()) {
            steps += 1;
            if ((written[step] !== undefined) === (sign !== '-')) right += 1;
            if (!/[fdr]/.test(sign)) continue;
            flams += 1;
            if (written[step]?.flam !== undefined) heard += 1;
          }
        }
      }
    expect(right / steps).toBeGreaterThanOrEqual(0.95);
    expect(heard / flams).toBeGreaterThanOrEqual(0.8);
  });
});
