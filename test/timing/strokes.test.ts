import { describe, expect, it } from 'vitest';
import type { Line } from '../../src/modules/score.ts';
import { close } from '../close.ts';
import { reference } from '../reference.ts';
import { allEdges, allStrokes, pattern, rises, settings, tab } from './build.ts';

const HAT = 0;
const HAT_ACCENT = 2;

/** A pattern of one line that is more than its tab. */
function lineOf(text: string, more: Partial<Line>) {
  const one = pattern([text]);
  return { ...one, lines: one.lines.map((line) => ({ ...line, ...more })) };
}

/** Times and volts of one output. */
function course(of: ReturnType<typeof settings>, output: number, until: number) {
  return allEdges(of, { until })
    .filter((edge) => edge.output === output)
    .map(({ time, volts }) => [Number(time.toFixed(9)), volts]);
}

describe('strokes', () => {
  it('start when the trigger chain of S-chain-01 is first moved', () => {
    const { inputs, expected } = reference<
      { bpm: number; swing: number; pattern: string },
      { press_s: number; press_times_s: number[] }
    >('tempo', 'S-chain-01');
    const { bpm, swing, pattern: text } = inputs;
    const { press_s, press_times_s } = expected;
    const song = settings([pattern([text.replaceAll('.', '-')])], {
      tempo: bpm,
      swing: swing / 100,
    });
    const found = rises(song, HAT, { until: 2 });
    expect(found).toHaveLength(press_times_s.length);
    found.forEach((time, i) => {
      // The chain's delay is the same for each stroke; 1e-7 s is the entry's own tolerance.
      close(time + press_s, press_times_s[i] as number, {
        abs: 1e-7,
        unit: 's',
        why: "the entry's own tolerance",
      });
    });
  });

  it('of a ratchet divide the step equally, from its swung start to the next', () => {
    const song = settings([pattern(['42'])], { swing: 0.6 });
    const found = allStrokes(song, { until: 0.25 }).map(({ time, cause }) => [time, cause]);
    // An on-step of 150 ms in four, an off-step of 100 ms in two.
    const expected = [0, 0.0375, 0.075, 0.1125, 0.15, 0.2].map((time) => [
      expect.closeTo(time, 12),
      'ratchet',
    ]);
    expect(found).toEqual(expected);
  });

  it('of a flam are a grace stroke before the step and the main stroke on it', () => {
    const song = settings([pattern(['-f'])], {
      flam: 0.03,
      gate: { unit: 'seconds', value: 0.002 },
    });
    const found = allStrokes(song, { until: 0.2 });
    expect(found.map(({ time, cause, step }) => [Number(time.toFixed(9)), cause, step])).toEqual([
      [0.095, 'grace', 2],
      [0.125, 'hit', 2],
    ]);
  });

  it('of a flam on the very first step start at 0, the main stroke later by the flam', () => {
    const song = settings([pattern(['f---'])], { flam: 0.03 });
    // At 120 bpm the pattern lasts 0.5 s: the second flam is in its ordinary place.
    expect(rises(song, HAT, { until: 0.6 }).map((time) => Number(time.toFixed(9)))).toEqual([
      0, 0.03, 0.47, 0.5,
    ]);
  });

  it('of a flam at the end of the performance are both left out', () => {
    const song = settings([pattern(['-x--', 'f---'])], { flam: 0.03 });
    expect(allStrokes(song, { until: 0.5 }).filter(({ channel }) => channel === 1)).toHaveLength(2);
  });

  it('keep their order where the flam is longer than the steps', () => {
    const dense = { ...pattern(['xxxfxxxx']), stepsPerQuarter: 24 };
    const song = settings([dense], { tempo: 250, flam: 0.025 });
    // Steps of 10 ms: the grace stroke of step 4 comes between steps 1 and 2.
    const found = allStrokes(song, { until: 0.05 }).map(({ time }) => Number(time.toFixed(9)));
    expect(found).toEqual([0, 0.005, 0.01, 0.02, 0.03, 0.04]);
  });

  it('use the flam of the step, else of the song, the pattern, the module', () => {
    const flams = (more: object, entry: object, own: object) => {
      const line = { steps: tab('-f').map((step) => ({ ...step, ...own })) };
      const song = settings([{ ...lineOf('-f', line), ...more }], {
        flam: 0.01,
        song: [{ pattern: 0, repeats: 1, ...entry }],
      });
      return Number((0.125 - (allStrokes(song, { until: 0.2 })[0]?.time ?? 0)).toFixed(9));
    };
    expect(flams({}, {}, {})).toBe(0.01);
    expect(flams({ flam: 0.02 }, {}, {})).toBe(0.02);
    expect(flams({ flam: 0.02 }, { flam: 0.03 }, {})).toBe(0.03);
    expect(flams({ flam: 0.02 }, { flam: 0.03 }, { flamSpacing: 0.04 })).toBe(0.04);
  });
});

describe('gates', () => {
  it('last a time, or a share of the step that swing has left them', () => {
    const shares = settings([pattern(['xx'])], { swing: 0.6, gate: { unit: 'steps', value: 0.5 } });
    expect(course(shares, HAT, 0.25)).toEqual([
      [0, 6],
      [0.075, 0],
      [0.15, 6],
      [0.2, 0],
    ]);
    const ratchet = settings([pattern(['2-'])], { gate: { unit: 'steps', value: 0.5 } });
    expect(course(ratchet, HAT, 0.25)).toEqual([
      [0, 6],
      [0.03125, 0],
      [0.0625, 6],
      [0.09375, 0],
    ]);
  });

  it('are those of the step, else of the line, else of the module', () => {
    const seconds = (value: number) => ({ unit: 'seconds', value }) as const;
    const [plain, own] = tab('xx');
    if (plain === undefined || own === undefined) throw new Error('two steps');
    const line = { gate: seconds(0.02), steps: [plain, { ...own, gate: seconds(0.03) }] };
    expect(course(settings([lineOf('xx', line)]), HAT, 0.25)).toEqual([
      [0, 6],
      [0.02, 0],
      [0.125, 6],
      [0.155, 0],
    ]);
  });

  it('stay high where they reach the next stroke, be it by a sample', () => {
    const touching = settings([pattern(['xx--'])], { gate: { unit: 'steps', value: 1 } });
    expect(course(touching, HAT, 0.5)).toEqual([
      [0, 6],
      [0.25, 0],
    ]);
    const apart = settings([pattern(['xx--'])], { gate: { unit: 'seconds', value: 0.1249 } });
    expect(course(apart, HAT, 0.5)).toHaveLength(4);
    // The strokes are still there to be counted.
    expect(allStrokes(touching, { until: 0.5 })).toHaveLength(2);
  });

  it('are not cut by a shorter stroke under them', () => {
    const [plain, second] = tab('xx');
    if (plain === undefined || second === undefined) throw new Error('two steps');
    const long = { steps: [{ ...plain, gate: { unit: 'steps', value: 3 } as const }, second] };
    const song = settings([{ ...lineOf('xx', long), length: 4 }], {
      song: [{ pattern: 0, repeats: 1 }],
    });
    expect(course(song, HAT, 0.2)).toEqual([
      [0, 6],
      [0.375, 0],
    ]);
  });

  it('last a sample at least', () => {
    const short = settings([pattern(['x---'])], { gate: { unit: 'seconds', value: 1e-6 } });
    const found = allEdges(short, { until: 0.5 }).filter(({ output }) => output === HAT);
    expect(found.map(({ sample, volts }) => [sample, volts])).toEqual([
      [0, 6],
      [1, 0],
    ]);
  });

  it('end in their own time when the performance has stopped', () => {
    const song = settings([pattern(['xxxx'])], { gate: { unit: 'seconds', value: 0.1 } });
    expect(course(song, HAT, 0.13)).toEqual([
      [0, 6],
      [0.1, 0],
      [0.125, 6],
      [0.225, 0],
    ]);
  });
});

describe('accents', () => {
  it('hold from an accented stroke to the next without', () => {
    expect(course(settings([pattern(['xX--Xx--'])]), HAT_ACCENT, 1)).toEqual([
      [0.125, 4],
      [0.625, 0],
    ]);
  });

  it('have three strengths: accent, plain and ghost', () => {
    // Steps of 125 ms; the levels are those of `settings`.
    expect(course(settings([pattern(['Xgxg-gX-'])]), HAT_ACCENT, 1)).toEqual([
      [0, 4],
      [0.125, -3],
      [0.25, 0],
      [0.375, -3],
      [0.75, 4],
    ]);
  });

  it('fall for a grace stroke and rise for the accented stroke it leads to', () => {
    const steps = tab('XX').map((step, i) => ({ ...step, flam: i === 1 }));
    const song = settings([lineOf('XX', { steps })], { flam: 0.025 });
    expect(course(song, HAT_ACCENT, 0.2)).toEqual([
      [0, 4],
      [0.1, 0],
      [0.125, 4],
    ]);
  });
});

describe('lines', () => {
  const short = pattern(['x---', 'x--']);

  it('shorter than the pattern drift through its repeats and meet again', () => {
    const song = settings([short], { song: [{ pattern: 0, repeats: 2 }] });
    const found = allStrokes(song, { until: 1.6 }).filter(({ channel }) => channel === 1);
    // Every third sixteenth of 0.125 s, through repeats, and from one pass of the song to the next.
    expect(found.map(({ time }) => time)).toEqual([0, 0.375, 0.75, 1.125, 1.5]);
  });

  it('start at their first step when another pattern does', () => {
    const song = settings([short, pattern(['x---', 'xx--'])]);
    const found = allStrokes(song, { until: 1.6 }).filter(({ channel }) => channel === 1);
    expect(found.map(({ time }) => time)).toEqual([0, 0.375, 0.5, 0.625, 1, 1.375, 1.5]);
  });

  it('longer than a pattern with a length of its own are cut', () => {
    const cut = settings([{ ...pattern(['x--xx']), length: 3 }]);
    expect(rises(cut, HAT, { until: 1.2 })).toEqual([0, 0.375, 0.75, 1.125]);
  });
});
