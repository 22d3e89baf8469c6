// Facts that no jack shows: the energy in the filter, and the table that its coefficients come from.

import './shim';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Wire } from '../../src/circuits/core/wire';
import { HIGHEST_CUTOFF, integratorGain, Matched } from '../../src/circuits/dsp/matched';
import { MatchedTable } from '../../src/circuits/dsp/matched-table';
import { Filter } from '../../src/circuits/filter';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { between } from './cases.ts';

it('runs as plain JavaScript: low of a steady volt comes to a volt', () => {
  const [input, control, low] = [new Wire(), new Wire(), new Wire()];
  const filter = new Filter(input, control, low, null, null, null, 1000, 1, 0, 48_000);
  for (let i = 0; i < 128; i++) input.volts[i] = 1;
  for (let block = 0; block < 50; block++) filter.process(0, 128);
  close(low.volts[127], 1, {
    abs: 1e-12,
    unit: 'V',
    why: 'rounding, long after the filter has settled',
  });
});

it('holds under any modulation: without input its energy never grows', () => {
  const controls = fc.array(between(-12, 12), { minLength: 127, maxLength: 127 });
  fc.assert(
    fc.property(controls, between(0.5, 100), (volts, q) => {
      const [input, control] = [new Wire(), new Wire()];
      const filter = new Filter(input, control, null, null, null, null, 1000, q, 1, 48_000);
      const energy = (): number => {
        const { s1, s2 } = filter as unknown as { s1: number; s2: number };
        return s1 * s1 + s2 * s2;
      };
      input.volts[0] = 1;
      filter.process(0, 1);
      let before = energy();
      const gained: number[] = [];
      volts.forEach((value, n) => {
        control.volts[n + 1] = value;
        filter.process(n + 1, n + 2);
        // 1e-12: rounding of the states.
        if (!(energy() <= before * (1 + 1e-12))) gained.push(n);
        before = energy();
      });
      expect(gained).toEqual([]);
    }),
    runs(200),
  );
});

describe('integratorGain', () => {
  it('is tan(pi cutoff), within 1e-10', () => {
    fc.assert(
      fc.property(between(1e-9, 0.45), (cutoff) => {
        close(integratorGain(cutoff), Math.tan(Math.PI * cutoff), {
          rel: 1e-10,
          unit: '1',
          why: 'as documented',
        });
      }),
      runs(5000),
    );
  });

  it('is 0 at 0, and tan 81 degrees at its end (surd)', () => {
    expect(integratorGain(0)).toBe(0);
    // tan 81 = 1 + sqrt5 + sqrt(5 + 2 sqrt5).
    const surd = 1 + Math.sqrt(5) + Math.sqrt(5 + 2 * Math.sqrt(5));
    close(integratorGain(0.45), surd, { rel: 1e-10, unit: '1', why: 'as documented' });
  });
});

/** All of it, as a filter with all its outputs heard does. */
function tune(table: MatchedTable, cutoff: number): void {
  table.tune(cutoff);
  table.tuneLow();
  table.tuneBand();
  table.tuneHigh();
  table.tuneNotch();
}

describe('the matched section', () => {
  it('has the analogue poles, each s as e^(s/rate)', () => {
    fc.assert(
      fc.property(between(1e-4, HIGHEST_CUTOFF), between(0.5, 100), (cutoff, q) => {
        const section = new Matched(q);
        section.tune(cutoff);
        const w = 2 * Math.PI * cutoff;
        const radius = Math.exp(-w / (2 * q));
        const angle = w * Math.sqrt(1 - 1 / (4 * q * q));
        // Of (1 - 1/z)^2 + damping gain (1 - 1/z^2) + gain^2 (1 + 1/z)^2.
        const [loss, square] = [section.damping * section.gain, section.gain ** 2];
        const first = 1 + loss + square;
        const why = 'rounding, more of it where both poles lie close to 1';
        close((1 - loss + square) / first, radius * radius, { abs: 1e-9, unit: '1', why });
        close((2 * square - 2) / first, -2 * radius * Math.cos(angle), {
          abs: 1e-9,
          unit: '1',
          why,
        });
      }),
      runs(500),
    );
  });

  it('has the analogue magnitudes to 0.375 of the rate, as the table gives it', () => {
    fc.assert(
      fc.property(between(1e-4, 0.42), between(Math.log(0.5), Math.log(100)), (cutoff, sharp) => {
        const q = Math.exp(sharp);
        const table = new MatchedTable(q);
        tune(table, cutoff);
        const square = table.gain * table.gain;
        for (let f = 0.001; f < 0.375; f *= 1.13) {
          const t = Math.tan(Math.PI * f) ** 2;
          const x = f / cutoff;
          const below = (square - t) ** 2 + (table.damping * table.gain) ** 2 * t;
          const turn = 2 * Math.PI * f;
          const delayed = (a: number, b: number, c = 0): number =>
            (a + b * Math.cos(turn) + c * Math.cos(2 * turn)) ** 2 +
            (b * Math.sin(turn) + c * Math.sin(2 * turn)) ** 2;
          const analogue = (1 - x * x) ** 2 + (x / q) ** 2;
          const top = cutoff < 0.4 ? 0.5 : 0.55;
          for (const [given, wanted, most] of [
            [square ** 2 * (1 + table.low2 * t) ** 2, 1, top],
            [square * ((table.band2 * t) ** 2 + table.band1 ** 2 * t), (x / q) ** 2, top],
            [t * t * delayed(table.high0, table.high1), x ** 4, top],
            [
              (table.notchLow * square - t) ** 2 *
                delayed(table.notch0, table.notch1, table.notch2),
              (1 - x * x) ** 2,
              top,
            ],
          ] as const) {
            // In the notch itself both are as good as nothing.
            if (wanted / analogue < 1e-5 && wanted !== 1 && x > 0.9) continue;
            close(10 * Math.log10((given / below / wanted) * analogue), 0, {
              abs: most,
              unit: 'dB',
              why: 'as documented',
            });
          }
        }
      }),
      runs(500),
    );
  });

  it('is what the table gives, within 0.2 cents and 1 % of what damps it', () => {
    fc.assert(
      fc.property(between(1e-4, HIGHEST_CUTOFF), between(0.5, 100), (cutoff, q) => {
        const section = new Matched(q);
        section.tune(cutoff);
        const table = new MatchedTable(q);
        tune(table, cutoff);
        const why = 'as documented: straight lines between 65 cutoffs';
        const share = Math.atan(table.gain) / Math.atan(section.gain);
        close(1200 * Math.log2(share), 0, { abs: 0.2, unit: 'cents', why });
        close(table.damping, section.damping, { rel: 0.01, unit: '1', why });
        for (const name of ['low2', 'band1', 'band2', 'high0'] as const)
          close(table[name], section[name], { rel: 0.01, unit: '1', why });
      }),
      runs(500),
    );
  });
});
