// Hits of a recording, as an onset detector gives them, on the steps that they were played on.

import { describe, expect, it } from 'vitest';
import { restsOf } from '../../src/tab/grid-steps.ts';
import { type HeardHit, withoutDrags } from '../../src/tab/heard-hits.ts';
import { hitsMusic } from '../../src/tab/hits-music.ts';
import { transcribe } from '../../src/tab/transcribe.ts';
import { close } from '../close.ts';
import { gaussian } from '../measure/pulses/synthetic.ts';

/** s of scatter by turns, as of a steady hand. */
const SCATTER = [0.003, -0.004, 0.002, 0.005, -0.003, 0, -0.005, 0.001];

/** Hits at quarter notes of a tempo, with a start and a scatter; levels are dB. */
function hits(at: readonly (readonly [at: number, level?: number])[], bpm: number): HeardHit[] {
  return at.map(([quarters, level = -12], index) => ({
    time: 0.7 + (quarters * 60) / bpm + (SCATTER[index % SCATTER.length] as number),
    peakDbfs: level,
  }));
}

function signs(heard: readonly HeardHit[], bpm: number) {
  const tab = transcribe(hitsMusic(heard, bpm));
  const steps = tab.patterns.map(({ lines }) =>
    (lines[0]?.steps ?? []).map((step) => step?.strength[0] ?? '-').join(''),
  );
  return { tab, steps };
}

describe('the hits of a recording', () => {
  it('are put on sixteenths, loud ones accents and soft ones ghost strokes', () => {
    const played = hits([[0, -6], [0.5], [1], [1.75, -24], [2, -6], [2.5], [3], [3.5]], 96);
    const { tab, steps } = signs(played, 96);
    expect(tab.misfits).toEqual([]);
    expect(steps).toEqual(['a-p-p--ga-p-p-p-']);
  });

  it('tell triplets from sixteenths', () => {
    const thirds = Array.from({ length: 12 }, (_, n) => [n / 3] as const);
    expect(signs(hits(thirds, 110), 110).tab.patterns[0]?.stepsPerQuarter).toBe(3);
  });

  it('are in fives or sevens only where many say so', () => {
    // Two off-beats a bar at a swing of 56 % are as far apart as twelve sevenths of a quarter, to 3 ms.
    const few = [0, 1.72, 4, 5.72].map((at) => [at] as const);
    expect([5, 7]).not.toContain(signs(hits(few, 92), 92).tab.patterns[0]?.stepsPerQuarter);
    const fives = Array.from({ length: 80 }, (_, n) => [n / 5] as const);
    expect(signs(hits(fives, 92), 92).tab.patterns[0]?.stepsPerQuarter).toBe(5);
  });

  it('tell the swing to half a percent and the scatter', () => {
    // Off-steps at 62 % of pairs of sixteenths.
    const swung = Array.from(
      { length: 16 },
      (_, n) => [Math.floor(n / 2) / 2 + (n % 2) * 0.31] as const,
    );
    const [pattern] = signs(hits(swung, 90), 90).tab.patterns;
    expect(pattern?.stepsPerQuarter).toBe(4);
    close(pattern?.share, 0.62, {
      abs: 0.015,
      unit: '',
      why: 'a millisecond or two of scatter in a pair of 0.67 s',
    });
  });

  describe('of one that begins', () => {
    const eighths = Array.from({ length: 15 }, (_, n) => [n / 2] as const);
    const cut = hits(eighths, 120).map((hit) => ({ ...hit, time: hit.time - 0.48 }));
    const at0 = { time: 0.0001, peakDbfs: -16 };

    it('within a stroke leave that one out, and say so', () => {
      const { tab, steps } = signs([at0, ...cut], 120);
      expect(steps).toEqual(['p-p-p-p-p-p-p-p-', 'p-p-p-p-p-p-p---']);
      expect(tab.misfits).toEqual([]);
      expect(hitsMusic([at0, ...cut], 120).remarks).toEqual([expect.stringMatching(/within/)]);
    });

    it.each([
      ['with a beat', 0, 0],
      ['with an off-step of the others', 0.31, 0],
      ['with a grace stroke', 0, 0.03],
    ])('%s keep it', (_, place, grace) => {
      const swung = Array.from({ length: 16 }, (_, n) => Math.floor(n / 2) / 2 + (n % 2) * 0.31);
      const times = swung.filter((at) => at >= place).map((at) => (at - place) / 2 + grace);
      const heard = times.map((time) => ({ time, peakDbfs: -12 }));
      const all = grace > 0 ? [{ time: 0, peakDbfs: -18 }, ...heard] : heard;
      expect(hitsMusic(all, 120).strokes).toHaveLength(all.length);
      expect(hitsMusic(all, 120).remarks).toEqual([]);
    });
  });

  it('list what is far off by bar and beat', () => {
    const straight = Array.from({ length: 16 }, (_, n) => [n / 2 + (n === 11 ? 0.07 : 0)] as const);
    const { tab } = signs(hits(straight, 100), 100);
    expect(tab.misfits).toHaveLength(1);
    // The twelfth eighth: on the second half of beat 2 of the second bar, 42 ms and its scatter late.
    expect(tab.misfits[0]).toMatchObject({ line: 'hit', bar: 2 });
    close(tab.misfits[0]?.beat, 2.57, {
      abs: 0.05,
      unit: 'beats',
      why: '42 ms late, and its scatter',
    });
    close(tab.misfits[0]?.late, 0.045, { abs: 0.005, unit: 's', why: 'its scatter' });
  });

  /** A line of four bars, played by a hand, each stroke off by a Gaussian; `f` has a grace stroke before it. */
  function played(
    line: string,
    {
      bpm,
      share = 0.5,
      perQuarter = 4,
      flam = 0.022,
      scatter = 0.005,
      grace = -6,
      seed = 1,
    }: {
      readonly bpm: number;
      readonly share?: number;
      readonly perQuarter?: number;
      readonly flam?: number;
      readonly scatter?: number;
      /** dB against the main stroke. */
      readonly grace?: number;
      readonly seed?: number;
    },
  ): HeardHit[] {
    const random = gaussian(seed);
    const signs = [...line.replaceAll(' ', '').repeat(4)];
    return signs
      .flatMap((sign, step) => {
        if (sign === '-') return [];
        const at = (step + (step % 2 === 1 ? 2 * share - 1 : 0)) / perQuarter;
        const time = 2 + (at * 60) / bpm + scatter * random();
        const main = { time, peakDbfs: -12 };
        const early = (count: number) => ({
          time: time - count * flam + 0.2 * scatter * random(),
          peakDbfs: -12 + grace,
        });
        // A flam, a drag of two grace strokes, a ruff of three.
        return [...[3, 2, 1].slice(['r', 'd', 'f'].indexOf(sign)).map(early), main].slice(
          'rdf'.includes(sign) ? 0 : -1,
        );
      })
      .sort((a, b) => a.time - b.time);
  }

  /** As drum tab, by bars. */
  function tabOf(heard: readonly HeardHit[], bpm: number) {
    const tab = transcribe(hitsMusic(heard, bpm));
    const bars = tab.patterns.map(({ lines }) =>
      (lines[0]?.steps ?? [])
        .map((step) => (step === undefined ? '-' : step.flam !== undefined ? 'f' : 'x'))
        .join(''),
    );
    const [{ stepsPerQuarter, share } = { stepsPerQuarter: 0, share: 0 }] = tab.patterns;
    return { tab, bars, stepsPerQuarter, share, misfits: tab.misfits, flam: tab.flam };
  }

  const tempos = [60, 84, 96, 120, 150, 180];

  it.each([
    ['quarter notes', 'x--- x--- x--- x---'],
    ['beats 1 and 3', 'x--- ---- x--- ----'],
    ['eighths', 'x-x- x-x- x-x- x-x-'],
    ['a dotted eighth', 'x--x x--x x--x x--x'],
    ['a few sixteenths', 'x--x --x- x--- --xx'],
  ])('%s are sixteenths without a swing, which nothing tells', (_, line) => {
    for (const bpm of tempos)
      expect(tabOf(played(line, { bpm, seed: bpm }), bpm)).toMatchObject({
        bars: [line.replaceAll(' ', '')],
        stepsPerQuarter: 4,
        share: 0.5,
        misfits: [],
      });
  });

  it('keep their swing up to the most that there is, of sixteenths and of eighths', () => {
    for (const bpm of tempos)
      for (const share of [0.56, 0.62, 2 / 3, 0.72, 0.75])
        for (const [perQuarter, line] of [
          [4, 'xxxx x-xx xxxx x-xx'],
          [2, 'xx xx xx xx'],
        ] as const) {
          // A dotted eighth is one, and no swing of eighths.
          if (perQuarter === 2 && share >= 0.72) continue;
          const found = tabOf(played(line, { bpm, share, perQuarter, scatter: 0.002 }), bpm);
          expect(found).toMatchObject({ stepsPerQuarter: perQuarter, misfits: [] });
          expect(found.bars).toEqual([line.replaceAll(' ', '')]);
          close(found.share, share, {
            abs: 0.005 + 0.0015 * (bpm / 60),
            unit: '',
            why: 'half a percent, and 2 ms over root 16 of the pair, which is 167 ms at the fastest',
          });
        }
  });

  it('keep triplets that are struck in the middle', () => {
    for (const bpm of tempos) {
      const found = tabOf(played('xxx x-x xxx x-x', { bpm, perQuarter: 3 }), bpm);
      expect(found).toMatchObject({ bars: ['xxxx-xxxxx-x'], stepsPerQuarter: 3, misfits: [] });
    }
  });

  it('have their flams on the step of the main stroke, the first of all and of a bar too', () => {
    for (const bpm of tempos)
      for (const line of ['f--- f--- x--- f---', 'f-x- x-x- f-xx x-xf', 'f--- x--- x--- x--f'])
        for (const [flam, grace] of [
          [0.022, -6],
          // As loud as the main stroke, and louder, as drums do by themselves.
          [0.022, 0],
          [0.03, 2],
          [0.05, -8],
        ] as const) {
          const found = tabOf(played(line, { bpm, flam, grace, seed: bpm }), bpm);
          expect(found.bars).toEqual([line.replaceAll(' ', '')]);
          expect(found).toMatchObject({ stepsPerQuarter: 4, share: 0.5, misfits: [] });
          // The middle of some that differ by a millisecond.
          close(found.flam, flam, {
            abs: 0.003,
            unit: 's',
            why: 'the middle of some that differ by a millisecond',
          });
        }
  });

  it('are on their beats where the first is a flam that nothing could come before', () => {
    for (const bpm of [84, 120, 132, 160])
      for (const bars of [1, 4]) {
        const beats = Array.from({ length: 4 * bars }, (_, n) => [n] as const);
        // Its grace stroke is on the beat, and the main one 22 ms after it.
        const [first, ...others] = hits(beats, bpm);
        const { time, peakDbfs } = first as HeardHit;
        const flam = { time: time + 0.022, seconds: 0.022, softerDb: 5 };
        const { tab, steps } = signs([{ time, peakDbfs, flam }, ...others], bpm);
        expect(tab.misfits, `${bpm} bpm`).toEqual([]);
        expect(new Set(steps), `${bpm} bpm`).toEqual(new Set(['p---p---p---p---']));
      }
  });

  it('keep the nearest grace stroke of drags and ruffs, and tell where the others were', () => {
    for (const bpm of [80, 100, 125, 160])
      for (const share of [0.5, 0.58, 2 / 3])
        for (const [line, flam] of [
          ['d-x- x-x- d-x- xxx-', 0.026],
          ['x-x- r-x- x-x- rxx-', 0.022],
          ['d--- xxx- f-x- r-x-', 0.024],
        ] as const) {
          const heard = played(line, { bpm, share, flam, grace: -5, scatter: 0.002, seed: bpm });
          const { tab, bars, misfits } = tabOf(heard, bpm);
          expect(bars).toEqual([line.replaceAll(' ', '').replace(/[dr]/g, 'f')]);
          expect(misfits).toEqual([]);
          close(tab.flam, flam, {
            abs: 0.003,
            unit: 's',
            why: 'the middle of some that differ by a millisecond',
          });
          const left = [...line].reduce((sum, sign) => sum + Math.max(0, 'fdr'.indexOf(sign)), 0);
          const [remark] = hitsMusic(heard, bpm).remarks;
          expect(remark?.match(/bar|more/g)?.length).toBe(Math.min(13, 4 * left));
        }
  });

  it('but not of a roll, nor of the soft steps of a swing', () => {
    const soft = (line: string, bpm: number, share: number) =>
      played(line, { bpm, share, scatter: 0.001 }).map((hit, n) => ({
        ...hit,
        peakDbfs: n % 2 === 0 ? -12 : -16,
      }));
    for (const bpm of [80, 125, 160])
      for (const share of [0.5, 0.62, 2 / 3]) {
        const { hits, left } = withoutDrags(soft('xxxx xxxx xxxx xxxx', bpm, share), bpm);
        expect(left).toEqual([]);
        expect(hits).toHaveLength(64);
      }
    // Of 32nds at 110 bpm, 68 ms apart, each second one soft.
    const roll = Array.from({ length: 16 }, (_, n) => ({
      time: 1 + (n * 60) / 110 / 8,
      peakDbfs: n % 2 === 0 ? -16 : -12,
    }));
    expect(withoutDrags(roll, 110).left.length).toBeLessThanOrEqual(1);
  });

  /** Strokes of a step each, or a ratchet that fills it, levels scattered as those of noise are. */
  function ratchets(line: string, bpm: number, share: number, seed: number): HeardHit[] {
    const random = gaussian(seed);
    const signs = [...line.replaceAll(' ', '').repeat(2)];
    const startOf = (step: number) => (step + (step % 2 === 1 ? 2 * share - 1 : 0)) / 4;
    return signs.flatMap((sign, step) => {
      if (sign === '-') return [];
      const [count, from] = [Number(sign) || 1, startOf(step)];
      return Array.from({ length: count }, (_, n) => ({
        time: 2 + (60 / bpm) * (from + ((startOf(step + 1) - from) * n) / count) + 0.001 * random(),
        // The mean of some 30 independent powers of a hit wavers by 4.34 / sqrt(30) = 0.8 dB.
        peakDbfs: -12 + 0.8 * random(),
      }));
    });
  }

  it('have their ratchets in the step that they fill, at any swing', () => {
    let [right, all] = [0, 0];
    for (const bpm of [70, 96, 120, 160])
      for (const share of [0.5, 0.58, 2 / 3])
        for (const line of ['x-x2 x-xx 3-xx xxxx', 'xx4- x-x- xx2- 3-x-', '4-xx x-x3 x-4x xx-x']) {
          const heard = ratchets(line, bpm, share, bpm);
          const { patterns, bars } = transcribe(hitsMusic(heard, bpm));
          for (const { pattern } of bars) {
            const steps = patterns.find(({ name }) => name === pattern)?.lines[0]?.steps ?? [];
            const signs = steps.map((step) => ['-', 'x'][step?.strokes ?? 0] ?? `${step?.strokes}`);
            all += 1;
            if (signs.join('') === line.replaceAll(' ', '')) right += 1;
          }
        }
    expect(all).toBe(72);
    expect(right).toBe(all);
  });

  it('nor of the hands of a clap, of which any may be the loudest', () => {
    const clap = [0, 0.009, 0.02, 0.031].map((late, n) => ({
      time: 1 + late,
      peakDbfs: -20 + 2 * n,
    }));
    expect(withoutDrags(clap, 100)).toEqual({ hits: clap, left: [] });
  });

  it('are barred as one says: rests or a pick-up before the first beat, and other lengths of bars', () => {
    const line = '---- ---- ---- -xxx x--- x--x --x- x--- x--- x--x --x- x---';
    const barred = (bar: number, firstBeat: number, strokes: string) => {
      const at = [...strokes.replaceAll(' ', '')].flatMap((sign, n) =>
        sign === 'x' ? [n / 4] : [],
      );
      const { patterns, bars } = transcribe(
        hitsMusic(
          hits(
            at.map((one) => [one] as const),
            96,
          ),
          96,
          { bar, firstBeat },
        ),
      );
      return bars.map(({ pattern }) =>
        (patterns.find(({ name }) => name === pattern)?.lines[0]?.steps ?? restsOf(4 * bar))
          .map((step) => (step === undefined ? '-' : 'x'))
          .join(''),
      );
    };
    expect(barred(4, 4.25, line).join('')).toBe(line.replaceAll(' ', ''));
    // Of 7/8, from its fourth eighth on.
    const odd = '------x-x-x--- x---x-x-x-x-x- x---x-x-x-x-x-';
    expect(barred(3.5, 2.5, odd)).toEqual(odd.split(' '));
  });

  it('put the grace stroke within a hit before its main one', () => {
    const heard = played('x-x- x-x- x-x- x-xx', { bpm: 100, scatter: 0.001 }).map((hit, n) =>
      // Heard at its grace stroke, 8 ms early, or at its main one.
      n % 9 === 0
        ? {
            time: hit.time - (n % 2) * 0.008,
            peakDbfs: hit.peakDbfs,
            flam: { time: hit.time, seconds: 0.008, softerDb: 7 },
          }
        : hit,
    );
    const { bars, flam, misfits } = tabOf(heard, 100);
    expect(bars).toEqual(['f-x-x-x-x-x-x-xx']);
    close(flam, 0.008, { abs: 5e-5, unit: 's', why: 'rounding of sums of times' });
    expect(misfits).toEqual([]);
  });

  it('of which only the grace stroke was heard stay in their bar', () => {
    // At the second bar, 22 ms early.
    const heard = played('x--- x--- x-x- x-xx', { bpm: 92, scatter: 0.001 });
    const early = heard.map((hit, n) => (n === 7 ? { ...hit, time: hit.time - 0.022 } : hit));
    expect(tabOf(early, 92)).toMatchObject({ bars: ['x---x---x-x-x-xx'], misfits: [] });
  });

  it('are refused where there are none', () => {
    expect(() => hitsMusic([], 120)).toThrow('no hits');
  });
});
