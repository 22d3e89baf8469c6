// Variants at one loudness, measured again from the files by a meter that is not ours.

import { mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import wavefile from 'wavefile';
import { type Comparison, type ComparisonRequest, compare } from '../../src/compare/comparison.ts';
import { ownCrew } from '../../src/compare/crew.ts';
import { gridOf } from '../../src/compare/grid.ts';
import { overview, overviewParts } from '../../src/compare/overview.ts';
import { readVariations } from '../../src/compare/vary.ts';
import { FONT_PX } from '../../src/output/chart/chart-svg.ts';
import { PRINT } from '../../src/output/chart/colours.ts';
import { close } from '../close.ts';
import { type SecondReader, secondReader } from '../measure/second-reader.ts';
import { example, written } from './written.ts';

const RATE = 48_000;

function folder(): string {
  return mkdtempSync(join(tmpdir(), 'forehear-test-'));
}

function samplesOf(path: string): Float64Array {
  const wav = new wavefile.WaveFile(readFileSync(path));
  const samples = wav.getSamples(false, Float64Array) as unknown as Float64Array;
  return samples.map((value) => value / 2 ** 23);
}

/** A clip over and over, as its page plays it. */
function rounds(samples: Float64Array, count: number): Float64Array {
  const all = new Float64Array(count * samples.length);
  for (let round = 0; round < count; round++) all.set(samples, round * samples.length);
  return all;
}

function run(
  source: ReturnType<typeof written>,
  vary: readonly string[],
  options: Partial<ComparisonRequest> = {},
  crew = ownCrew(),
): Promise<Comparison> {
  return compare(
    {
      play: {
        sampleRate: RATE,
        depth: '24',
        length: { unit: 'bars', value: 1 },
      },
      title: source.patch.title,
      variants: gridOf([
        {
          source: { type: 'patch', written: source.written },
          variations: readVariations(vary, source.written, source.patch),
        },
      ]),
      folder: folder(),
      pairs: false,
      memory: 2 ** 28,
      onProgress: () => undefined,
      isStopped: () => false,
      ...options,
    },
    crew,
  );
}

describe('compare', () => {
  const hat = example('closed-hat.yaml');
  let comparison: Comparison;
  let meter: SecondReader;
  beforeAll(async () => {
    meter = await secondReader();
    comparison = await run(hat, ['shape.release=60ms,400ms', 'bright.cutoff=1 kHz,7.5 kHz']);
  });

  it('brings all clips to one loudness, as an independent meter reads them going round', () => {
    const target = comparison.targetLufs as number;
    for (const { path } of comparison.variants)
      close(meter.loudnessMono(RATE, rounds(samplesOf(path), 10)), target, {
        abs: 0.1,
        unit: 'LU',
        why: 'what was promised; two meters of BS.1770 differ by hundredths',
      });
  });

  it('also where most of a loop is silence', async () => {
    const text = hat.written.texts['test.yaml'] as string;
    const sparse = written(text.replace(/hat: "[^"]*"/, 'hat: "X-----------x---"'));
    const { variants, targetLufs } = await run(sparse, ['drums.tempo=61bpm,173bpm']);
    for (const { path } of variants)
      close(meter.loudnessMono(RATE, rounds(samplesOf(path), 20)), targetLufs as number, {
        abs: 0.1,
        unit: 'LU',
        why: 'what was promised; two meters of BS.1770 differ by hundredths',
      });
  });

  it('also where a hit is so short and soft that it is under the gate of the meter', async () => {
    const text = hat.written.texts['test.yaml'] as string;
    const soft = written(text.replace(/hat: "[^"]*"/, 'hat: "X---------------"'));
    const settings = ['shape.release=2ms', 'hiss.level=10mV,2V'];
    const { variants, targetLufs } = await run(soft, settings);
    for (const { path } of variants)
      close(meter.loudnessMono(RATE, rounds(samplesOf(path), 40)), targetLufs as number, {
        abs: 0.1,
        unit: 'LU',
        why: 'what was promised; two meters of BS.1770 differ by hundredths',
      });
    // As it was, the same meter has no loudness for the soft one: BS.1770's gate at -70 LUFS.
    const [one] = variants;
    const gain = 10 ** ((one?.gainDb as number) / 20);
    const before = samplesOf(one?.path as string).map((sample) => sample / gain);
    expect(meter.loudnessMono(RATE, rounds(before, 40))).toBe(Number.NEGATIVE_INFINITY);
  });

  it('also where its own gain lets the gate of the loudest take in what is softer', async () => {
    // A tone in three levels, of which by the gates only the first counts, at -43 LUFS. Some 7 dB louder the last is over
    // -70 LUFS: the mean and the relative gate under it fall until the second counts too, which makes it 2.8 LU softer.
    const place = folder();
    const levels = [
      [2, -40],
      [2, -54],
      [40, -70],
    ] as const;
    const codes = new Int32Array(44 * RATE);
    let at = 0;
    for (const [seconds, db] of levels) {
      const peak = 10 ** (db / 20) * 2 ** 23;
      for (let n = 0; n < seconds * RATE; n++)
        codes[at++] = Math.round(peak * Math.sin((2 * Math.PI * 1000 * n) / RATE));
    }
    // One short peak, so that it is this one that the ceiling stops.
    codes[RATE] = Math.round(0.4 * 2 ** 23);
    const path = join(place, 'levels.wav');
    const wav = new wavefile.WaveFile();
    wav.fromScratch(1, RATE, '24', codes);
    writeFileSync(path, wav.toBuffer());
    const source = { type: 'patch', written: hat.written } as const;
    const variants = gridOf([
      { source, variations: [] },
      { source: { type: 'recording', path }, variations: [] },
    ]);
    const { variants: clips, targetLufs } = await run(hat, [], { variants });
    expect(clips).toHaveLength(2);
    for (const clip of clips)
      close(meter.loudnessMono(RATE, rounds(samplesOf(clip.path), 3)), targetLufs as number, {
        abs: 0.1,
        unit: 'LU',
        why: 'what was promised; two meters of BS.1770 differ by hundredths',
      });
  });

  it('takes the loudest level at which no true peak passes -1 dBTP', () => {
    const peaks = comparison.variants.map(({ path }) => meter.truePeakMono(RATE, samplesOf(path)));
    // Sampling four times as often, the other meter can read low by 20 log10 cos(pi / 8) = -0.688 dB
    // at half the sample rate, as this hiss has it (ITU-R BS.1770, annex 2, attachment 1; from memory).
    expect(Math.max(...peaks)).toBeLessThan(-1 + 0.05);
    expect(Math.max(...peaks)).toBeGreaterThan(-1 - 0.688);
  });

  it('reports the gains: the loudness before and the gain make the target', () => {
    for (const { ownLufs, gainDb } of comparison.variants)
      close((ownLufs as number) + gainDb, comparison.targetLufs as number, {
        abs: 0.05,
        unit: 'dB',
        why: 'a gain moves loudness by itself, but for blocks near the absolute gate',
      });
    // A longer release is more sound in as much time, so it has the smaller gain.
    const [short, , long] = comparison.variants;
    expect(long?.gainDb).toBeLessThan(short?.gainDb as number);
  });

  it('measures what the settings change', () => {
    const [dark, bright] = comparison.variants;
    expect(dark?.measures.centroidHz).toBeLessThan(bright?.measures.centroidHz as number);
    expect(dark?.measures.seconds).toBe(bright?.measures.seconds);
  });

  it('gives the same bytes and numbers however many work on it', async () => {
    const again = await run(
      hat,
      ['shape.release=60ms,400ms', 'bright.cutoff=1 kHz,7.5 kHz'],
      {},
      ownCrew({ size: 3 }),
    );
    comparison.variants.forEach((one, index) => {
      const other = again.variants[index] as typeof one;
      expect(readFileSync(other.path).equals(readFileSync(one.path))).toBe(true);
      expect({ ...other, path: '' }).toEqual({ ...one, path: '' });
    });
  });

  it('gives the same bytes and numbers whether samples are kept or played again', async () => {
    // The longer tail goes round the loop several times.
    const vary = ['shape.release=60ms,4s'];
    for (const depth of ['16', '24', '32f'] as const) {
      const both = await Promise.all(
        [2 ** 28, 0].map((memory) =>
          run(hat, vary, {
            memory,
            play: {
              sampleRate: RATE,
              depth,
              length: { unit: 'seconds', value: 0.7 },
            },
          }),
        ),
      );
      const [kept, again] = both.map(({ variants }) =>
        variants.map(({ path, ...rest }) => ({ ...rest, bytes: readFileSync(path) })),
      );
      if (kept === undefined || again === undefined) throw new Error('not both');
      // Bytes are compared at once, not one by one.
      expect(
        kept.map(({ bytes }, index) => bytes.equals(again[index]?.bytes ?? bytes.subarray(1))),
      ).toEqual([true, true]);
      expect(kept.map(({ bytes: _, ...rest }) => rest)).toEqual(
        again.map(({ bytes: _, ...rest }) => rest),
      );
    }
  });

  it('draws every variant by name in one picture', () => {
    const { body } = overview(overviewParts(comparison, PRINT));
    // Twice in legends, once over its spectrogram.
    for (const name of ['60 ms, 1 kHz', '60 ms, 7.5 kHz', '400 ms, 1 kHz', '400 ms, 7.5 kHz'])
      expect(body.split(`>${name}<`).length - 1).toBe(3);
    expect(body).not.toMatch(/NaN|Infinity|undefined/);
  });

  it('draws levels for as long as one of them is seen, however long the pause is after it', async () => {
    const text = hat.written.texts['test.yaml'] as string;
    const rare = written(text.replace(/hat: "[^"]*"/, 'hat: "X---------------"'));
    // 60 dB take ln(1000) of its five time constants: 55 and 83 ms; the chart is of 66 dB (92 ms) and a little more.
    const settings = ['shape.release=40ms,60ms'];
    const [levels] = overviewParts(await run(rare, settings), PRINT);
    const ticks = [...(levels?.drawing.body ?? '').matchAll(/text-anchor="middle">(\d+)</g)];
    const last = Math.max(...ticks.map(([, ms]) => Number(ms)));
    expect(last).toBeGreaterThanOrEqual(60);
    expect(last).toBeLessThan(200);
  });

  it('draws it in parts whose letters have 7 pt on paper', () => {
    // A4 (ISO 216) less margins of 14 mm, and at most 225 mm of height for a figure (`document/style`).
    const [across, down] = [210 - 2 * 14, 225].map((mm) => (mm / 25.4) * 72) as [number, number];
    const parts = overviewParts(comparison, PRINT);
    expect(parts.length).toBeGreaterThan(2);
    for (const { drawing, words } of parts) {
      // With 4 px around it.
      const points = FONT_PX * Math.min(across / (drawing.width + 8), down / (drawing.height + 8));
      expect(points, words).toBeGreaterThanOrEqual(7);
    }
  });
});

describe('compare, with a silent variant', () => {
  it('leaves it as it is, and takes no notice of it in the level of the others', async () => {
    const source = written(`
modules:
  hiss: { kind: noise }
  level: { kind: attenuator, level: 10 % }
  out: { kind: output }
cables:
  - hiss.white -> level.in
  - level.out -> out.left
`);
    const { variants, targetLufs } = await run(source, ['level.level=0%,10%,20%'], {
      play: {
        sampleRate: RATE,
        depth: '24',
        length: { unit: 'seconds', value: 0.6 },
      },
    });
    expect(variants.map(({ measures }) => measures.loudnessLufs === null)).toEqual([
      true,
      false,
      false,
    ]);
    expect(variants[0]?.gainDb).toBe(0);
    expect(samplesOf(variants[0]?.path as string).every((value) => value === 0)).toBe(true);
    // The same noise at half the level: 20 log10(2) dB more gain brings it to the same clip.
    close((variants[1]?.gainDb as number) - (variants[2]?.gainDb as number), 20 * Math.log10(2), {
      abs: 1e-6,
      unit: 'dB',
      why: 'the samples differ by a factor of two and by nothing else',
    });
    expect(Number.isFinite(targetLufs)).toBe(true);
  });
});

describe('compare, pair by pair', () => {
  it('nulls clips that differ by level alone, and tells unrelated noises from them', async () => {
    const source = written(`
seed: a
modules:
  hiss: { kind: noise, level: 1 V }
  out: { kind: output }
cables:
  - hiss.white -> out.left
`);
    const play = {
      written: source.written,
      sampleRate: RATE,
      depth: '24' as const,
      length: { unit: 'seconds' as const, value: 0.6 },
    };
    const level = await run(source, ['hiss.level=1V,0.5V'], { play, pairs: true });
    // Levelled, both are the same to the rounding of 24 bits: two errors of 2^-24 rms / sqrt(3) each
    // against noise at -20 dBFS are 120 dB down.
    const [pair] = level.pairs ?? [];
    expect(pair?.differenceDb ?? -200).toBeLessThan(-110);
    const seeds = await run(source, ['seed=a,b'], { play, pairs: true });
    // Variances of independent signals add: 10 log10(2) = 3.01 dB over either.
    close(seeds.pairs?.[0]?.differenceDb as number, 10 * Math.log10(2), {
      abs: 0.15,
      unit: 'dB',
      why: 'the correlation of 28800 pairs of samples has a deviation of 0.6 %, 0.03 dB; five of them',
    });
  });
});

describe('compare, stopped', () => {
  it('writes what was measured by then, and nothing else', async () => {
    let done = 0;
    const place = folder();
    const hat = example('closed-hat.yaml');
    const { variants } = await run(hat, ['shape.release=20ms..400ms/6'], {
      folder: place,
      onProgress: () => {
        done += 1;
      },
      isStopped: () => done >= 2,
    });
    expect(variants.map(({ variant }) => variant.number)).toEqual([1, 2]);
    expect(readdirSync(place).sort()).toEqual(variants.map(({ variant }) => variant.file));
  });
});
