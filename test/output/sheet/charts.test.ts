// The charts of a sheet: that a hit rises in them as fast as in the sound, beside the volts that open it, and
// that a jack's volts are drawn through one step with the thresholds of triggers. Expected values are closed
// forms of known signals, or follow from the settings of the examples.

import { describe, expect, it } from 'vitest';
import { Prepared } from '../../../src/engine/prepared.ts';
import { PRINT } from '../../../src/output/chart/colours.ts';
import { voiceCharts } from '../../../src/output/sheet/charts.ts';
import { envelopeVolts, levelEnvelopes } from '../../../src/output/sheet/level-envelopes.ts';
import { VoiceMeter } from '../../../src/output/sheet/sound.ts';
import { voltsCharts } from '../../../src/output/sheet/volts-charts.ts';
import { close } from '../../close.ts';
import { example } from '../sheet-patches.ts';

const RATE = 48_000;
const BLOCK = 128;

/** What a meter makes of a sound. */
function metered(sound: (second: number) => number, seconds: number) {
  const block = new Float64Array(BLOCK);
  const meter = new VoiceMeter('voice', [block]);
  for (let from = 0; from < seconds * RATE; from += BLOCK) {
    for (let n = 0; n < BLOCK; n++) block[n] = sound((from + n) / RATE);
    meter.add(BLOCK);
  }
  return meter.finish();
}

describe('the level of a hit', () => {
  const TAU = 0.05;
  const START = 0.3;
  // 2 kHz: a quarter wave is an eighth of a millisecond.
  const strike = (t: number): number =>
    t < START ? 0 : 0.5 * Math.exp((START - t) / TAU) * Math.sin(2 * Math.PI * 2000 * (t - START));
  const { hit, time } = metered(strike, 1.2);

  it('is at its height within a millisecond of its start, with nothing before', () => {
    close(time?.start ?? 0, START, {
      abs: 0.0006,
      unit: 's',
      why: 'levels are half a millisecond long',
    });
    for (const [ms, db] of hit) if (ms < 0) expect(db).toBeNull();
    const [, first] = hit.find(([ms]) => ms >= 1) ?? [0, null];
    // Half of full scale.
    close(first ?? -200, 20 * Math.log10(0.5), {
      abs: 0.2,
      unit: 'dB',
      why: 'it falls by 0.17 dB a millisecond',
    });
  });

  it('falls as the sound does, at most 10 ms late', () => {
    for (const [ms, db] of hit) {
      if (ms < 15 || db === null) continue;
      const level = (t: number): number => 20 * Math.log10(0.5 * Math.exp(-t / 1000 / TAU));
      // Crests are a quarter of a millisecond apart.
      expect(db).toBeLessThan(level(ms - 10.5));
      expect(db).toBeGreaterThan(level(ms) - 0.2);
    }
  });

  it('of silence is none', () => {
    expect(metered(() => 0, 0.5)).toMatchObject({ hit: [] });
    expect(voiceCharts([metered(() => 0, 0.5)], PRINT)).toEqual([]);
  });
});

describe('levelEnvelopes', () => {
  it.each([
    ['closed-hat', 'touch', ['shape']],
    ['kit-of-eight', 'hats.both', ['hats.closed-shape', 'hats.open-shape']],
    // Its envelope bends the pitch alone.
    ['kit-of-eight', 'low-tom.touch', []],
  ])('finds those of %s that open %s', (name, module, expected) => {
    const { nets } = new Prepared(example(name));
    expect([...levelEnvelopes(nets, { module, jack: 'out' })].toSorted()).toEqual(expected);
  });

  it('has their volts through a hit', () => {
    const of = new Prepared(example('closed-hat'));
    const work = envelopeVolts(of, ['shape'], { start: 0, from: 0, to: 0.12 });
    let step = work.next();
    while (!step.done) step = work.next();
    const [line] = step.value;
    const highest = Math.max(...(line?.points ?? []).map(([, volts]) => volts ?? 0));
    close(highest, 5, { abs: 0.01, unit: 'V', why: 'points are 0.2 ms apart' });
    // It falls in a straight line: 110 ms from 5 V to none.
    const after = (line?.points ?? []).find(([ms]) => ms >= 56)?.[1] ?? 0;
    close(after, 2.5, {
      abs: 0.1,
      unit: 'V',
      why: 'the trigger is noticed 1 ms late, the attack takes 0.4 ms',
    });
  });
});

describe('voltsCharts', () => {
  const of = new Prepared(example('closed-hat'));
  // A gate of 8 ms, 5 V high, at the start of every second.
  const volts = new Float64Array(2 * RATE).map((_, n) => (n % RATE < 0.008 * RATE ? 5 : 0));
  const drawn = (module: string, jack: string, heard = volts) =>
    voltsCharts(
      of,
      { jack: { module, jack }, name: `${module}.${jack}`, volts: heard, sampleRate: RATE },
      PRINT,
    );

  it('draw one step from the edge, with the thresholds of the triggers that look at it', () => {
    const [step, through] = drawn('drums', 'hat');
    // A sixteenth at 92 quarters a minute: 60 / 92 / 4 s.
    expect(step?.caption).toContain('one step, 163 ms');
    expect(step?.caption).toContain('adapt.voltage-in');
    expect(step?.svg).toContain('>fires above 2.5 V<');
    expect(step?.svg).toContain('>ready below 1.5 V<');
    expect(through?.caption).toContain('through the loop');
  });

  it('say that no trigger looks, or that nothing moves', () => {
    expect(drawn('hiss', 'white')[0]?.caption).toContain('No trigger input looks at it');
    const [still] = drawn('hiss', 'white', new Float64Array(RATE).fill(3));
    expect(still?.caption).toContain('It stands still at 3 V');
  });
});
