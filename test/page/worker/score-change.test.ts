// A change of the score is in the text afterwards, and nothing else in it has changed.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { rhythm } from '../../../src/modules/rhythm.ts';
import type { PatchChange, ScorePlace, SongEdit } from '../../../src/page/protocol.ts';
import { changed } from '../../../src/page/worker/change.ts';
import { readFiles } from '../../../src/page/worker/reading.ts';
import { wordSpecs } from '../../../src/page/worker/words.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import { rhythmSettings } from '../../../src/timing/rhythm.ts';

const TEXT = `title: Score # the title
modules:
  drums:
    kind: rhythm
    channels: [hat, kick]
    patterns:
      groove: # four quarters
        hat: "x-X- xfx? | 4-g- x-x-" # steps
        kick: { steps: "x---", chance: 70 % } # goes round
      fill: { from: groove, tempo: 96 bpm, hat: { steps: "xx", at: { 2: { gate: 3 ms } } } }
    song: # in order
      - groove # softly
      - { pattern: fill, repeats: 2 }
      # the end
      - pattern: groove
        swing: 60 %
  out: { kind: output }
cables: [drums.hat -> out.left]
`;

function filesWith(text: string, set: readonly string[] = []): PatchTexts {
  return { main: 'a.yaml', set, texts: { 'a.yaml': text } };
}

function patchOf(files: PatchTexts): Patch {
  const { patch, problems } = readFiles(files);
  expect(problems).toEqual([]);
  return patch as Patch;
}

function scoreOf(files: PatchTexts): ReturnType<typeof rhythmSettings> {
  const { modules } = patchOf(files);
  return rhythmSettings(modules.find(({ name }) => name === 'drums')?.settings ?? {});
}

function tried(
  text: string,
  change: PatchChange,
  set: readonly string[] = [],
): string | PatchTexts {
  const files = filesWith(text, set);
  const result = changed(files, patchOf(files), change);
  return result.refused ?? result.reading.files;
}

function made(text: string, change: PatchChange, set: readonly string[] = []): string {
  const result = tried(text, change, set);
  if (typeof result === 'string') throw new Error(result);
  return result.texts['a.yaml'] as string;
}

function word(at: ScorePlace, name: string, text: string): PatchChange {
  return { type: 'word', module: 'drums', at, word: name, text };
}

function song(edit: SongEdit): PatchChange {
  return { type: 'song', module: 'drums', turn: 1, edit };
}

const HAT = { type: 'line', pattern: 'groove', channel: 'hat' } as const;
const PLACES: Readonly<Record<ScorePlace['type'], ScorePlace>> = {
  pattern: { type: 'pattern', pattern: 'groove' },
  line: HAT,
  step: { ...HAT, type: 'step', step: 3 },
  entry: { type: 'entry', entry: 0 },
};
/** One value for each word, none of which the text has. */
const VALUES: Readonly<Record<string, string>> = {
  tempo: '101 bpm',
  swing: '57 %',
  chance: '33 %',
  flam: '11 ms',
  clock: '3 per quarter',
  gate: '44 %',
  'steps-per-quarter': '3',
  length: '12',
  repeats: '4',
};

function commentsOf(text: string): string[] {
  return (text.match(/# [\w ]+/g) ?? []).map((one) => one.trim()).sort();
}

describe('what a place of the score says of its own', () => {
  const all = Object.entries(wordSpecs(rhythm.settings)).flatMap(([type, words]) =>
    [...words.keys()].map((name) => [type as ScorePlace['type'], name] as const),
  );

  it.each(all)('is written, read again, and taken away again: %s, %s', (type, name) => {
    const at = PLACES[type];
    const value = VALUES[name] as string;
    const after = made(TEXT, word(at, name, value));
    expect(after).toContain(`${name}: ${value}`);
    expect(commentsOf(after)).toEqual(commentsOf(TEXT));
    // Only this word has changed: what is read without it is what was read before.
    const back = made(after, word(at, name, ''));
    expect(scoreOf(filesWith(back))).toEqual(scoreOf(filesWith(TEXT)));
    expect(commentsOf(back)).toEqual(commentsOf(TEXT));
    expect(scoreOf(filesWith(after))).not.toEqual(scoreOf(filesWith(TEXT)));
  });

  it('goes to its place in the file', () => {
    const at = { ...HAT, type: 'step', step: 6 } as const;
    expect(made(TEXT, word(at, 'flam', '12 ms'))).toBe(
      TEXT.replace(
        '"x-X- xfx? | 4-g- x-x-"',
        '{ steps: "x-X- xfx? | 4-g- x-x-", at: { 6: { flam: 12 ms } } }',
      ),
    );
    const entry = { type: 'entry', entry: 2 } as const;
    expect(made(TEXT, word(entry, 'tempo', '99 bpm'))).toBe(
      TEXT.replace('        swing: 60 %\n', '        swing: 60 %\n        tempo: 99 bpm\n'),
    );
    expect(made(TEXT, word({ type: 'entry', entry: 1 }, 'repeats', ''))).toBe(
      TEXT.replace(', repeats: 2', ''),
    );
    expect(made(TEXT, word({ type: 'entry', entry: 0 }, 'pattern', 'fill'))).toBe(
      TEXT.replace('- groove # softly', '- fill # softly'),
    );
    expect(made(TEXT, word({ type: 'entry', entry: 2 }, 'pattern', 'fill'))).toBe(
      TEXT.replace('- pattern: groove', '- pattern: fill'),
    );
  });

  it('of a line that comes from another pattern is written into this one, with all that it says', () => {
    const at = { type: 'line', pattern: 'fill', channel: 'kick' } as const;
    const after = made(TEXT, word(at, 'gate', '9 ms'));
    expect(after).toContain('kick: { steps: "x---", chance: 70 %, gate: 9 ms }');
    const [before, now] = [TEXT, after].map((text) => scoreOf(filesWith(text)).patterns[1]);
    expect(now?.lines[1]).toEqual({ ...before?.lines[1], gate: { unit: 'seconds', value: 0.009 } });
  });

  it.each<readonly [string, ScorePlace, string, string, RegExp]>([
    [
      'a rest',
      { ...HAT, type: 'step', step: 2 },
      'chance',
      '50 %',
      /step 2 is a rest: write a stroke/,
    ],
    ['no step', { ...HAT, type: 'step', step: 17 }, 'chance', '50 %', /no step 17, only 16/],
    ['no entry', { type: 'entry', entry: 3 }, 'tempo', '90 bpm', /no entry 4, only 3/],
    ['no pattern', { type: 'entry', entry: 0 }, 'pattern', 'groov', /no pattern "groov"/],
    [
      'out of range',
      PLACES.pattern,
      'tempo',
      '1000 bpm',
      /out of range.*\n.*from 1 bpm to 999 bpm/,
    ],
    ['no unit', HAT, 'gate', '80', /has no unit/],
    ['no word of a line', HAT, 'tempo', '90 bpm', /no "tempo" here/],
    ['nothing to take away', HAT, 'gate', '', /hat in groove says no gate of its own/],
    ['a flam that does not fit', PLACES.entry, 'flam', '100 ms', /does not fit/],
    [
      'a text that is more than a value',
      PLACES.entry,
      'tempo',
      '90 bpm, x: 1',
      /is no|no unit|not a/,
    ],
  ])('is refused with the reason: %s', (_, at, name, text, reason) => {
    const slow = TEXT.replace('kind: rhythm', 'kind: rhythm\n    tempo: 300 bpm');
    expect(tried(name === 'flam' ? slow : TEXT, word(at, name, text))).toMatch(reason);
  });

  it('takes the place of what the command line gives', () => {
    const set = ['drums.patterns.groove.tempo=88bpm'];
    const change = word(PLACES.pattern, 'tempo', '91 bpm');
    const result = tried(TEXT, change, set) as PatchTexts;
    expect(result.set).toEqual([]);
    expect(scoreOf(result).patterns[0]?.tempo).toBe(91);
  });
});

describe('the order of the song', () => {
  const names = (text: string): string[] => {
    const { song: entries, patterns } = scoreOf(filesWith(text));
    return entries.map(({ pattern, repeats, swing }) =>
      [patterns[pattern]?.name, repeats, swing].join(' '),
    );
  };

  it('changes as an array does, and keeps every comment', () => {
    const edit = fc.oneof(
      fc.record({
        type: fc.constant('insert' as const),
        at: fc.nat(3),
        pattern: fc.constantFrom('groove', 'fill'),
      }),
      fc.record({ type: fc.constant('remove' as const), at: fc.nat(2) }),
      fc.record({ type: fc.constant('move' as const), from: fc.nat(2), to: fc.nat(2) }),
    );
    fc.assert(
      fc.property(edit, (one) => {
        const expected = names(TEXT);
        if (one.type === 'insert') expected.splice(one.at, 0, `${one.pattern} 1 `);
        else if (one.type === 'remove') expected.splice(one.at, 1);
        else expected.splice(one.to, 0, ...expected.splice(one.from, 1));
        const after = made(TEXT, song(one));
        expect(names(after)).toEqual(expected);
        expect(commentsOf(after)).toEqual(commentsOf(TEXT));
      }),
      { numRuns: 40 },
    );
  });

  it('is written out where the file leaves it to the order of the patterns', () => {
    const bare = TEXT.replace(/ {4}song:.*?swing: 60 %\n/s, '');
    expect(names(bare)).toEqual(['groove 1 ', 'fill 1 ']);
    const after = made(bare, song({ type: 'move', from: 1, to: 0 }));
    expect(names(after)).toEqual(['fill 1 ', 'groove 1 ']);
    expect(after).toContain('song: [fill, groove]');
    expect(names(made(bare, word({ type: 'entry', entry: 1 }, 'repeats', '3')))).toEqual([
      'groove 1 ',
      'fill 3 ',
    ]);
  });

  it('is written out where the command line gives another', () => {
    const set = ['drums.song=[fill, { pattern: groove, repeats: 3, swing: 51 % }]'];
    const result = tried(TEXT, song({ type: 'insert', at: 2, pattern: 'fill' }), set) as PatchTexts;
    expect(result.set).toEqual([]);
    expect(names(result.texts['a.yaml'] as string)).toEqual([
      'fill 1 ',
      'groove 3 0.51',
      'fill 1 ',
    ]);
  });

  it('is never empty, and has no place that is not there', () => {
    const one = TEXT.replace(/ {4}song:.*?swing: 60 %\n/s, '    song: [groove]\n');
    expect(tried(one, song({ type: 'remove', at: 0 }))).toMatch(/at least one entry/);
    expect(tried(TEXT, song({ type: 'remove', at: 3 }))).toMatch(/no place/);
    expect(tried(TEXT, song({ type: 'insert', at: 0, pattern: 'x' }))).toMatch(/no pattern "x"/);
  });
});
