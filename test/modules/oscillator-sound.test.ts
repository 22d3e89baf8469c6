// Sound at the inputs that bend or sync an oscillator: what folds back against a limit, what belongs there
// against closed forms. Everything that belongs to the sound lies on multiples of one frequency, which
// shares no period with the rate; what folds lies between them.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { oscillator } from '../../src/modules/oscillator.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { Bench, jack, type Volts } from './harness.ts';
import { besselI0, component, lines, loudestBetweenHarmonics } from './spectrum.ts';

const WAVES = ['sine', 'triangle', 'saw', 'pulse'] as const;
const LENGTH = 16_384;
const rates = fc.constantFrom(44_100, 48_000, 96_000);

interface Setup {
  readonly rate: number;
  /** The input that sound reaches, and its volts by time, s. */
  readonly input: string;
  readonly volts: (time: number) => number;
  readonly settings: Readonly<Record<string, number>>;
}

function sounds({ rate, input, volts, settings }: Setup): Readonly<Record<string, Float64Array>> {
  const bench = new Bench(oscillator, { sampleRate: rate, settings, sounds: [input] });
  const from =
    (first: number): Volts =>
    (n: number) =>
      volts((first + n) / rate);
  // The start dies away first.
  bench.run(2000, { [input]: from(0) });
  return bench.run(LENGTH, { [input]: from(2000) });
}

/** dB of the loudest thing between multiples of `hertz` to 20 kHz, against the loudest of all. */
function worst(setup: Setup, hertz: number): number {
  const out = sounds(setup);
  return WAVES.reduce((most, wave) => {
    const spectrum = lines(jack(out, wave), setup.rate);
    const first = Math.ceil(20 / spectrum.resolution);
    const loudest = spectrum.amplitudes.subarray(first).reduce((a, b) => Math.max(a, b), 0);
    const folded = loudestBetweenHarmonics(spectrum, hertz, 20, 20_000);
    return Math.max(most, 20 * Math.log10(folded / loudest));
  }, Number.NEGATIVE_INFINITY);
}

const sine =
  (hertz: number, peak: number) =>
  (time: number): number =>
    peak * Math.sin(2 * Math.PI * hertz * time);

describe('what folds back lies 100 dB under the loudest partial', () => {
  it('under linear FM of a carrier up to 5 kHz, by up to 100 %, from up to 5 kHz', () => {
    fc.assert(
      fc.property(
        rates,
        between(150, 450),
        between(0, 1),
        between(0, 1),
        between(0, 5),
        (rate, hertz, one, two, peak) => {
          const carrier = 1 + Math.floor(one * (5000 / hertz - 1));
          const modulator = 1 + Math.floor(two * (5000 / hertz - 1));
          const settings = { 'at-zero': carrier * hertz };
          const volts = sine(modulator * hertz, peak);
          expect(worst({ rate, input: 'linear-fm', volts, settings }, hertz)).toBeLessThan(-100);
        },
      ),
      runs(10),
    );
  });

  it('under exponential FM by up to two octaves of a carrier up to 2 kHz, from up to 2 kHz', () => {
    fc.assert(
      fc.property(
        rates,
        between(150, 450),
        between(0, 1),
        between(0, 1),
        between(0, 2),
        (rate, hertz, one, two, peak) => {
          const carrier = 1 + Math.floor(one * (2000 / hertz - 1));
          const modulator = 1 + Math.floor(two * (2000 / hertz - 1));
          // On the average 2^(v sin) is I0(v ln 2): Abramowitz & Stegun 9.6.16 (from memory).
          const settings = { 'at-zero': (carrier * hertz) / besselI0(peak * Math.LN2) };
          const volts = sine(modulator * hertz, peak);
          const setup = { rate, input: 'exponential-fm', volts, settings };
          expect(worst(setup, hertz)).toBeLessThan(-100);
        },
      ),
      runs(10),
    );
  });

  // The master is an oscillator: its edges are band limited, and reach to half the rate.
  it.each(WAVES)('under sync of a wave up to 6 kHz by a %s up to 3 kHz', (wave) => {
    fc.assert(
      fc.property(
        rates,
        between(100, 3000),
        between(1, 8),
        between(0.1, 0.9),
        (rate, hertz, ratio, part) => {
          // What is high or low for less than two samples does not sync.
          const shortest = Math.min(0.5, (2.2 * hertz) / rate);
          const width = Math.max(shortest, Math.min(part, 1 - shortest));
          const master = new Bench(oscillator, {
            sampleRate: rate,
            settings: { 'at-zero': hertz, width },
          });
          const volts = jack(master.run(2000 + LENGTH), wave);
          const settings = { 'at-zero': Math.min(hertz * ratio, 6000) };
          const at = (time: number) => volts[Math.round(time * rate)] as number;
          expect(worst({ rate, input: 'sync', volts: at, settings }, hertz)).toBeLessThan(-100);
        },
      ),
      runs(6),
    );
  });

  it('which a plain oscillator does not reach: it is a test that can fail', () => {
    const [rate, hertz] = [48_000, 1234.567];
    const bench = new Bench(oscillator, { sampleRate: rate, settings: { 'at-zero': 5.3 * hertz } });
    const out = bench.run(LENGTH, { sync: (n) => sine(hertz, 5)(n / rate) });
    const spectrum = lines(jack(out, 'sine'), rate);
    const loudest = spectrum.amplitudes.subarray(20).reduce((a, b) => Math.max(a, b), 0);
    const folded = loudestBetweenHarmonics(spectrum, hertz, 20, 20_000);
    expect(20 * Math.log10(folded / loudest)).toBeGreaterThan(-70);
  });
});

describe('what belongs there', () => {
  // Sidebands of a sine: Bessel functions J_n of the index, Abramowitz & Stegun 9.1.42 and table
  // 9.1 (from memory): J0(1) = 0.7651976866, J1(1) = 0.4400505857, J2(1) = 0.1149034849.
  it('of a sine under linear FM are the sidebands of its index', () => {
    const [rate, carrier, modulator] = [48_000, 3000, 200];
    const settings = { 'at-zero': carrier, 'linear-fm-amount': modulator / carrier };
    const volts = sine(modulator, 5);
    const found = jack(sounds({ rate, input: 'linear-fm', volts, settings }), 'sine');
    for (const [n, bessel] of [0.7651976866, 0.4400505857, 0.1149034849].entries())
      for (const side of [-1, 1])
        close(component(found, rate, carrier + side * n * modulator).amplitude, 5 * bessel, {
          abs: 1e-4,
          unit: 'V',
          why: "the trapezoidal rule's (2 pi f/(4 rate))^2/12 = 4e-6 of the index; ripple of the filters",
        });
  });

  it.each(WAVES)('of a %s at 0 V of FM is the plain wave, at about the same time', (wave) => {
    const [rate, hertz] = [48_000, 441.37];
    const settings = { 'at-zero': hertz };
    const bent = jack(sounds({ rate, input: 'linear-fm', volts: () => 0, settings }), wave);
    const bench = new Bench(oscillator, { sampleRate: rate, settings });
    bench.run(2000);
    const plain = jack(bench.run(LENGTH), wave);
    for (let n = 1; n * hertz < 18_000; n++) {
      const [one, other] = [bent, plain].map((volts) => component(volts, rate, n * hertz));
      close(one?.amplitude as number, other?.amplitude as number, {
        abs: 5e-4,
        unit: 'V',
        why: 'the ripple in the pass band of what limits the plain one',
      });
    }
    const [one, other] = [bent, plain].map((volts) => component(volts, rate, hertz).phase);
    const turns = (other as number) - (one as number);
    close(((turns - Math.round(turns)) * rate) / hertz, 0, {
      abs: 1,
      unit: 'samples',
      why: 'as documented: some 2.4 samples late instead of 3',
    });
  });
});
