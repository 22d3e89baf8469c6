// The score as text and as a chart. The expected places are worked out by hand from the patterns.

import { describe, expect, it } from 'vitest';
import { scoreCsv } from '../../../src/output/score/score-csv.ts';
import { scoreOf, scoreSource } from '../../../src/output/score/score-of.ts';
import { scorePictures, scoreSvg } from '../../../src/output/score/score-svg.ts';
import { scoreText } from '../../../src/output/score/score-text.ts';
import { barsPlayed, scoreWords } from '../../../src/output/score/score-words.ts';
import { close } from '../../close.ts';
import { patchFrom } from '../../patch-of.ts';

/** A quarter is 0.5 s and has four steps; a bar is two quarters. */
const TEXT = `title: A <b> & "c"
modules:
  drums:
    kind: rhythm
    tempo: 120 bpm
    beats-per-bar: 2
    channels: [hit, again]
    clock: 2 per quarter
    gate: 8 ms
    patterns: { a: { hit: "X-2-x---", again: "-----x--" } }
    song: [a, a, a, a]
  walk: { kind: step-sequencer, rows: { a: [C2, D2, E2] } }
  shape: { kind: envelope, attack: 1 ms, decay: 100 ms, release: 100 ms }
  out: { kind: output }
cables:
  - drums.clock -> walk.clock
  - drums.hit -> shape.trigger
  - shape.out -> out.left
`;

function scored(text = TEXT, seconds = 4) {
  const score = scoreOf(patchFrom(text), { sampleRate: 48_000, seconds, curves: true });
  if (score === undefined) throw new Error('no rhythm');
  return score;
}

/** The lanes of each block, by name. */
function blocks(text: string): Record<string, string>[] {
  return text
    .split('\n\n')
    .filter((block) => block.includes('|'))
    .map((block) =>
      Object.fromEntries(
        block
          .split('\n')
          .slice(1)
          .map((row) => [row.slice(0, row.indexOf('|')).trim(), row.slice(row.indexOf('|'))]),
      ),
    );
}

describe('a song that ends within a bar', () => {
  // A bar of 8 steps at 120 bpm, 1 s, then twice 6 steps at 60 bpm, 3 s: what a bar has after step 6 of the
  // second playing is not played, at whatever tempo. In quarters 2 + 1.5 + 1.5, of which a bar has two.
  const score = scored(
    TEXT.replace(
      'again: "-----x--" }',
      'again: "-----x--" }, b: { tempo: 60 bpm, hit: "x--x--" }',
    ).replace('[a, a, a, a]', '[a, b, b]'),
  );

  it('is drawn as far as it goes', () => {
    const last = blocks(scoreText(score, 39)).at(-1);
    expect(last?.step).toBe('|3  4  5  6  |');
    expect(last?.['drums.hit']).toBe('|·  x  ·  ·  |');
    const numbers = [...scoreSvg(score).matchAll(/class="tick">(\d+)</g)].map(([, n]) => Number(n));
    expect(Math.max(...numbers)).toBe(8);
    expect(numbers.slice(-4)).toEqual([3, 4, 5, 6]);
  });

  it('is counted as far as it goes', () => {
    expect(barsPlayed(score)).toBe(2.5);
    expect(scoreSvg(score)).toContain('4 s, 2.5 bars of 2 quarters');
  });
});

describe('a ghost stroke', () => {
  const score = scored(TEXT.replace('"X-2-x---"', '"X-2-g---"'));

  it('has a sign of its own in text', () => {
    const [first] = blocks(scoreText(score, 39));
    expect(first?.['drums.hit']).toBe('|X  ·  xx ·  |g  ·  ·  ·  |');
  });

  it('has a mark of its own, told beside the drawing, and none where there is no ghost', () => {
    expect(scoreSvg(score)).toContain('class="ghost"');
    expect(scoreSvg(score)).toContain('>ghost<');
    expect(scoreSvg(scored())).not.toContain('class="ghost"');
  });
});

describe('the score in text', () => {
  it('has a lane for gates, the clock, followers and envelopes, against steps', () => {
    // 12 columns for names, then |, four cells of three to a step twice, with | between.
    const [first] = blocks(scoreText(scored(), 39));
    expect(first).toEqual({
      step: '|1  2  3  4  |5  6  7  8  |',
      'drums.hit': '|X  ·  xx ·  |x  ·  ·  ·  |',
      'drums.again': '|·  ·  ·  ·  |·  x  ·  ·  |',
      'drums.clock': '|x  ·  x  ·  |x  ·  x  ·  |',
      'walk step': '|1  ·  2  ·  |3  ·  1  ·  |',
      shape: '|Arr·  AArr  |Arr·  ·  ·  |',
    });
  });

  it('says in one line that bars are alike', () => {
    const still = scored(TEXT.replace('[C2, D2, E2]', '[C2, D2]'));
    expect(scoreText(still, 80)).toMatch(/\n\nbars 2 to 4 are as bar 1$/);
    expect(scoreText(scored(), 80)).not.toMatch(/as bar 1/);
  });

  it('fits the columns it is given, as far as a beat has a cell', () => {
    for (const width of [40, 60, 80, 132]) {
      const rows = scoreText(scored(), width).split('\n');
      const drawn = rows.filter((row) => row.includes('|')).map((row) => row.length);
      expect(Math.max(...drawn)).toBeLessThanOrEqual(width);
    }
    expect(() => scoreText(scored(), 5)).not.toThrow();
  });

  it('shows triplets on their own steps, and a count-in as bar 0', () => {
    const text = TEXT.replace(
      'patterns: { a: {',
      'count-in: 1\n    patterns: { a: { steps-per-quarter: 3,',
    )
      .replace('X-2-x---', 'xxx-x-')
      .replace('-----x--', '------');
    const all = scoreText(scored(text, 2), 39);
    expect(all.startsWith('bar 0, 0 s: count-in, 120 bpm')).toBe(true);
    const [, bar] = blocks(all);
    expect(bar?.['drums.hit']).toMatch(/^\|x +x +x +\|· +x +· +\|$/);
    expect(bar?.step).toMatch(/^\|1 +2 +3 +\|4 +5 +6 +\|$/);
  });
});

describe('what stands beside a score', () => {
  it('says what inputs notice, where followers stand, and when lengths meet', () => {
    const { answers, followers, meetings } = scoreWords(scored());
    // 1 ms is 48 samples, the edge's own included: 47 / 48000 s later.
    expect(answers).toEqual([
      ['walk.clock', 'drums.clock', '16 of 16', '0.979 ms'],
      ['shape.trigger', 'drums.hit', '16 of 16', '0.979 ms'],
    ]);
    // Four clocks a bar and three steps: 1, 5 = 2, 9 = 3, 13 = 1. 16 and 3 meet after 48 clocks.
    expect(followers).toEqual([
      'walk (3 steps) begins bars 1 to 4 at steps 1, 2, 3, 1.',
      'walk gets 16 clocks in the song, so they meet again after 3 times through it: 12 bars.',
    ]);
    expect(meetings).toEqual([]);
  });

  it('says that a follower is reset, comes round, or hears nothing', () => {
    const reset = TEXT.replace('cables:\n', 'cables:\n  - drums.again -> walk.reset\n');
    expect(scoreWords(scored(reset)).followers).toEqual([
      // The reset at step 6 has the clock at step 7 land on step 1, and that of the next bar on 2.
      'walk (3 steps) begins bars 1 to 4 at steps 1, 2, 2, 2.',
      'walk gets 16 clocks in the song and is reset 4 times.',
    ]);
    const even = TEXT.replace('[C2, D2, E2]', '[C2, D2]');
    expect(scoreWords(scored(even)).followers[1]).toBe(
      'walk gets 16 clocks in the song, so it comes round with it.',
    );
    const weak = TEXT.replace('gate: 8 ms', 'gate: 8 ms\n    level: 2 V');
    expect(scoreWords(scored(weak)).answers[0]?.[2]).toBe('0 of 16');
  });

  it('says when lines of a pattern start together again', () => {
    const odd = TEXT.replace('"-----x--"', '"--x"');
    expect(scoreWords(scored(odd)).meetings).toEqual([
      'In pattern a again (3 steps) and the pattern (8) start together again after 24 steps: 3 bars.',
    ]);
  });

  it('is none for a patch without a rhythm', () => {
    const drone = patchFrom('modules: { out: { kind: output } }');
    expect(scoreOf(drone, { sampleRate: 48_000, seconds: 1, curves: false })).toBeUndefined();
  });
});

describe('the chart', () => {
  const svg = scoreSvg(scored());

  it('is well-formed, with texts escaped', () => {
    // Every tag closed in order: a reader of its own, as strict as XML is here.
    const open: string[] = [];
    for (const [, close, name, rest] of svg.matchAll(/<(\/?)([a-z]+)((?:"[^"]*"|[^>"])*)>/g)) {
      if (close) expect(open.pop()).toBe(name);
      else if (!rest?.endsWith('/')) open.push(name as string);
    }
    expect(open).toEqual([]);
    expect(svg).toContain('A &lt;b&gt; &amp; &quot;c&quot;');
    expect(svg).not.toMatch(/NaN|Infinity|undefined/);
  });

  it('draws time to scale: strokes lie where their times are', () => {
    // Two bars of 1 s to a row of 928 units that begins at 168; the envelope's lane has no steps.
    const traces = [...svg.matchAll(/<path d="M([^"]+)" class="trace"/g)].map(
      (m) => m[1] as string,
    );
    const [hit] = traces;
    const points = (hit ?? '').split('L').map((point) => point.split(' ').map(Number));
    const rises = points
      .filter(([x, y], i) => x === points[i - 1]?.[0] && (y ?? 0) < (points[i - 1]?.[1] ?? 0))
      .map(([x]) => x as number);
    const times = [0, 0.25, 0.3125, 0.5, 1, 1.25, 1.3125, 1.5];
    // Numbers are written to a tenth.
    rises.forEach((x, i) => {
      close(x, 168 + (times[i] as number) * 464, {
        abs: 0.051,
        unit: '',
        why: 'numbers are written to a tenth',
      });
    });
    expect(rises).toHaveLength(times.length);
  });

  it('numbers the steps of followers in boxes', () => {
    const numbers = [...svg.matchAll(/class="number">(\d+)</g)].map((m) => m[1]).join('');
    expect([...numbers].toSorted().join('')).toBe([...'1231231231231231'].toSorted().join(''));
  });
});

describe('what a score follows from', () => {
  const before = patchFrom(TEXT);
  const svgOf = (text: string): string => scoreSvg(scored(text));

  it.each([
    ['a voltage that only sounds', 'full-scale: 4 V', true],
    ['a title', 'title: B', false],
    ['a step', 'X-2-x-x-', false],
    ['a time of an envelope', 'decay: 90 ms', false],
    ['what loads a net on the way', 'split.out-1 -> out.left', false],
  ])('with %s changed', (_, change, isSame) => {
    const text = CHANGES[change] ?? '';
    expect(scoreSource(patchFrom(text)) === scoreSource(before)).toBe(isSame);
    // What is told to be the same is drawn the same.
    if (isSame) expect(svgOf(text)).toBe(svgOf(TEXT));
  });
});

const CHANGES: Readonly<Record<string, string>> = {
  'full-scale: 4 V': TEXT.replace('kind: output', 'kind: output, full-scale: 4 V'),
  'title: B': TEXT.replace(/title: .*/, 'title: B'),
  'X-2-x-x-': TEXT.replace('X-2-x---', 'X-2-x-x-'),
  'decay: 90 ms': TEXT.replace('decay: 100 ms', 'decay: 90 ms'),
  'split.out-1 -> out.left': TEXT.replace(
    '  - shape.out -> out.left',
    '  - shape.out -> split.in\n  - split.out-1 -> out.left',
  ).replace('  out: {', '  split: { kind: multiple, jacks: 3 }\n  out: {'),
};

describe('the pictures of a score', () => {
  // Three bars of a second, two to a row: the last row is half as long.
  const score = scored(TEXT, 3);
  const pictures = [...scorePictures(score)];

  it('have a row each, and say where its time lies', () => {
    expect(pictures.map(({ name }) => name)).toEqual(['Bars 1 and 2', 'Bar 3']);
    for (const { svg, width, height } of pictures)
      expect(svg).toContain(`viewBox="0 0 ${width} ${height}"`);
    expect(pictures[0]?.from).toBe(0);
    expect(pictures.at(-1)?.to).toBe(score.bars.at(-1)?.end);
    pictures.slice(1).forEach(({ from }, index) => {
      expect(from).toBe(pictures[index]?.to);
    });
  });

  it('are all to one scale, which is that of what they draw', () => {
    const scales = pictures.map(({ from, to, left, right }) => (right - left) / (to - from));
    for (const scale of scales)
      close(scale, scales[0] ?? Number.NaN, { rel: 1e-12, unit: '', why: 'rounding' });
    for (const { svg, from, to, left, right } of pictures) {
      const ends = score.bars
        .flatMap(({ start, end }) => [start, end])
        .filter((time) => time >= from && time <= to);
      const drawn = [...svg.matchAll(/<line x1="([\d.]+)"[^>]* class="bar"/g)].map(([, x]) =>
        Number(x),
      );
      for (const time of ends) {
        const x = left + ((time - from) / (to - from)) * (right - left);
        // Numbers are written to a tenth.
        expect(drawn.some((one) => Math.abs(one - x) <= 0.051)).toBe(true);
      }
    }
  });

  it('have neither heading nor notes, which the page around them has', () => {
    for (const { svg } of pictures) {
      expect(svg).not.toContain('class="title"');
      expect(svg).not.toContain('Score of time:');
    }
  });
});

describe('the lines of a table', () => {
  const decode = (pieces: Iterable<Uint8Array>): string =>
    [...pieces].map((piece) => new TextDecoder().decode(piece)).join('');

  it('hold every field, times to the nanosecond', () => {
    const rise = { time: 2 / 3, sample: 32_000, jack: 'a.b', edge: 'rise', volts: 5 } as const;
    const all = [
      { ...rise, bar: 1, step: 12 },
      { ...rise, time: 0.9999999999, volts: -2.5, bar: -1, step: 1 },
      {
        ...rise,
        time: 36_000,
        sample: 6_912_000_000,
        edge: 'step',
        position: 10,
        latency: 0.00025,
      } as const,
    ];
    expect(decode(scoreCsv(all, true))).toBe(
      'time,sample,jack,edge,volts,bar,step,latency,position\n' +
        '0.666666667,32000,a.b,rise,5,1,12,,\n' +
        '1.000000000,32000,a.b,rise,-2.5,-1,1,,\n' +
        '36000.000000000,6912000000,a.b,step,5,,,0.000250000,10\n',
    );
    expect(decode(scoreCsv(all.slice(0, 1), false))).toBe(
      'time,sample,jack,edge,volts,bar,step\n0.666666667,32000,a.b,rise,5,1,12\n',
    );
  });

  it('are all there, however many pieces they come in', () => {
    const many = Array.from({ length: 5000 }, (_, sample) => ({
      time: sample / 48_000,
      sample,
      jack: 'drums.hat',
      edge: sample % 2 === 0 ? ('rise' as const) : ('fall' as const),
      volts: sample % 2 === 0 ? 5 : 0,
    }));
    const pieces = [...scoreCsv(many, false)];
    expect(pieces.length).toBeGreaterThan(2);
    const rows = decode(pieces).trimEnd().split('\n').slice(1);
    expect(rows.map((row) => Number(row.split(',')[1]))).toEqual(many.map(({ sample }) => sample));
  });
});
