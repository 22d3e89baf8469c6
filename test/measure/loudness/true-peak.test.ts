// True peak against the test signals of EBU Tech 3341, closed forms, and a second reader: the package
// ebur128-wasm, which is a Rust implementation of EBU R 128 compiled for the web.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { TruePeakMeter } from '../../../src/measure/loudness/true-peak.ts';
import { close } from '../../close.ts';
import { expected, reference } from '../../reference.ts';
import { runs } from '../../runs.ts';
import { secondReader } from '../second-reader.ts';
import { hits, noise } from '../synthesis.ts';

const RATE = 48000;

function truePeak(samples: Float64Array, block = 1000): number {
  const meter = new TruePeakMeter(1);
  for (let from = 0; from < samples.length; from += block) {
    const part = samples.subarray(from, from + block);
    meter.add([part], part.length);
  }
  return 20 * Math.log10(meter.finish());
}

/** A sine with fades of 10 ms, as EBU Tech 3341 has them: an abrupt start overshoots. */
function faded(cyclesPerSample: number, amplitude: number, phase: number, length = RATE) {
  const fade = 0.01 * RATE;
  return new Float64Array(length).map((_, n) => {
    const gain = Math.min(1, n / fade, (length - 1 - n) / fade);
    return gain * amplitude * Math.sin(2 * Math.PI * cyclesPerSample * n + phase);
  });
}

const EBU = 'EBU Tech 3341 prints +0.2/-0.4 dB for a meter; 0.2 dB is what is promised here';

describe('true peak', () => {
  it('S-loudness-08: a sine at fs/4, sampled on its crests', () => {
    close(truePeak(faded(1 / 4, 0.5, 0)), expected(reference('measure', 'S-loudness-08')), {
      abs: 0.2,
      unit: 'dB',
      why: EBU,
    });
  });

  it('S-loudness-09: a sine at fs/4, sampled halfway up', () => {
    const samples = faded(1 / 4, 0.5, Math.PI / 4);
    close(truePeak(samples), expected(reference('measure', 'S-loudness-09')), {
      abs: 0.2,
      unit: 'dB',
      why: EBU,
    });
    expect(20 * Math.log10(Math.max(...samples))).toBeLessThan(-9);
  });

  it('finds a crest a quarter of the way between samples', () => {
    // fs/4 at 22.5 degrees: samples and points halfway all lie at cos 22.5 degrees, -0.69 dB.
    close(truePeak(faded(1 / 4, 0.5, Math.PI / 8)), 20 * Math.log10(0.5), {
      abs: 0.1,
      unit: 'dB',
      why: 'closed form; the interpolator is flat within 0.1 dB',
    });
  });

  it('S-loudness-10: a sine at fs/3', () => {
    close(
      truePeak(faded(1 / 3, 0.8, 0)),
      expected(reference('measure', 'S-loudness-10'), 'true_peak_dBTP'),
      {
        abs: 0.2,
        unit: 'dB',
        why: EBU,
      },
    );
  });

  it('reads a sine of any frequency to 0.45 fs and any phase within 0.2 dB', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 0.45, noNaN: true }),
        fc.double({ min: 0, max: 2 * Math.PI, noNaN: true }),
        (cycles, phase) => {
          close(truePeak(faded(cycles, 0.5, phase, 4800)), 20 * Math.log10(0.5), {
            abs: 0.2,
            unit: 'dB',
            why: 'the promise; four points a sample alone can miss 0.55 dB (S-loudness-11)',
          });
        },
      ),
      runs(60),
    );
  });

  it('finds a crest that falls between the last samples of a block, and at the end', () => {
    // Two equal samples: the wave through them and silence peaks between them, at 4/pi of each.
    for (const at of [500, 998, 999, 4095, 4111, 6000 - 2]) {
      const samples = new Float64Array(6000);
      samples[at] = 0.5;
      samples[at + 1] = 0.5;
      close(truePeak(samples), 20 * Math.log10((0.5 * 4) / Math.PI), {
        abs: 0.1,
        unit: 'dB',
        why: 'closed form sinc(1/2) + sinc(-1/2) = 4/pi for an ideal interpolator; ours is flat within 0.1 dB',
      });
    }
  });

  it('does not depend on how the samples are handed over', () => {
    const samples = noise(20000, 0.2, 'blocks');
    expect(truePeak(samples, 20000)).toBe(truePeak(samples, 37));
  });

  it('is what interpolating every gap without a shortcut gives', () => {
    for (const seed of ['a', 'b', 'c']) {
      const white = noise(3002, 0.2, seed);
      // 1/4, 1/2, 1/4 takes out what lies at half the sample rate, where no interpolator is flat.
      const samples = new Float64Array(3000).map(
        (_, n) => 0.25 * at(white, n) + 0.5 * at(white, n + 1) + 0.25 * at(white, n + 2),
      );
      close(truePeak(samples), 20 * Math.log10(sixteenTimes(samples)), {
        abs: 0.1,
        unit: 'dB',
        why: 'against 16 points a sample by a sinc of 400 samples; ours is flat within 0.1 dB',
      });
    }
  });

  it('agrees with a second reader on drums', async () => {
    const { truePeakMono } = await secondReader();
    const samples = hits(2, RATE, [
      { at: 0.1, tau: 0.05, amplitude: 0.5, hz: 60, fall: { octaves: 3, tau: 0.02 } },
      { at: 0.6, tau: 0.05, amplitude: 0.15 },
      { at: 1.1, tau: 0.1, amplitude: 0.3, hz: 190 },
    ]);
    close(truePeak(samples), truePeakMono(RATE, samples), {
      abs: 0.3,
      unit: 'dB',
      why: 'both promise 0.2 dB below 0.45 fs; white noise has some power above that',
    });
  });

  it('is -Infinity dB for silence and for nothing', () => {
    expect(truePeak(new Float64Array(1000))).toBe(Number.NEGATIVE_INFINITY);
    expect(truePeak(new Float64Array(0))).toBe(Number.NEGATIVE_INFINITY);
  });
});

const at = (samples: Float64Array, n: number) => samples[n] as number;

/** Samples on either side of a gap. */
const REACH = 200;
/** The windowed sinc by place in the gap, sixteenths, and by how many samples the gap is behind, from the most on. */
const SINC = Array.from({ length: 16 }, (_, p) =>
  new Float64Array(2 * REACH).map((_, k) => {
    const x = REACH - k + p / 16;
    const weight = x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
    return weight * Math.cos((Math.PI * x) / 402) ** 2;
  }),
);

function sixteenTimes(samples: Float64Array): number {
  let peak = 0;
  for (let n = 0; n < samples.length; n++) {
    const [from, to] = [Math.max(0, n - REACH), Math.min(samples.length, n + REACH)];
    for (const weights of SINC) {
      let sum = 0;
      for (let k = from; k < to; k++)
        sum += (samples[k] as number) * (weights[k - n + REACH] as number);
      peak = Math.max(peak, Math.abs(sum));
    }
  }
  return peak;
}
