// `calibrate`: from a dial file and its recordings into a rack. What a recording shows is checked in
// test/measure/dials; here the results of that are checked, and wrong dial files.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { calibrated } from '../../../src/cli/calibrate/calibrated.ts';
import {
  dialData,
  dialReport,
  dialsPicture,
} from '../../../src/cli/calibrate/calibration-report.ts';
import {
  replacedPositions,
  replacedPositionText,
  requireFits,
  withDials,
} from '../../../src/cli/calibrate/dials-into.ts';
import type { MonoClip } from '../../../src/measure/dials/reading.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { readDialClips } from '../../../src/patch/rack/dial-clips.ts';
import { readRack } from '../../../src/patch/rack/read-rack.ts';
import { Report } from '../../../src/patch/text/report.ts';
import { wavBytes } from '../../../src/wav/wav-bytes.ts';
import { close } from '../../close.ts';
import {
  attenuated,
  clipOf,
  clocked,
  filtered,
  sounding,
  struck,
} from '../../measure/dials/renders.ts';
import { forehear, scratch } from '../run.ts';

const RACK = `# What hangs in the workshop.
title: Own   # mine
units:
  hiss: { kind: noise }   # the loud one
  tone:
    kind: oscillator
    dials:
      at-zero: { 0: 30 Hz, 4.0: 200 Hz, 10: 8 kHz }   # by ear
      tune:
        0: -12 st   # an octave down
        10: 12 st
  bright: { kind: filter }
  old: { kind: envelope, fixed: { decay: 80 ms } }
  shape: { kind: envelope }
  beat: { kind: clock }
  mix: { kind: mixer }
  lag: { kind: slew, fixed: { curve: linear } }
  echo: { kind: delay }
`;
const { rack } = readRack(RACK, { file: 'own.yaml', kinds: KINDS });

const folder = scratch();
const tone = (hz: number, seconds = 0.5): MonoClip =>
  clipOf(sounding(`kind: oscillator, at-zero: ${hz} Hz`, 'saw'), { seconds });
const CLIPS: { readonly [name: string]: MonoClip } = {
  a: tone(50),
  b: tone(110),
  c: tone(440),
  long: tone(90, 1.2),
  low: clipOf(filtered('cutoff: 300 Hz', 'low'), { seconds: 1.5 }),
  near: clipOf(filtered('cutoff: 304 Hz', 'low'), { seconds: 1.5 }),
  high: clipOf(filtered('cutoff: 2 kHz', 'low'), { seconds: 1.5 }),
  hit: clipOf(struck('decay: 40 ms', 'tone.sine', '250 ms', 'x-----'), { seconds: 1 }),
  dry: clipOf(attenuated('100 %', 'tone.sine'), { seconds: 0.5 }),
  less: clipOf(attenuated('40 %', 'tone.sine'), { seconds: 0.5 }),
  slow: clipOf(clocked('rate: 9 Hz'), { seconds: 1, jack: 'beat.out' }),
  quick: clipOf(clocked('rate: 60 Hz'), { seconds: 0.5, jack: 'beat.out' }),
  glide: clipOf(clocked('rate: 1 Hz', 'kind: slew, rise: 80 ms, curve: linear'), {
    seconds: 1.5,
    jack: 'one.out',
  }),
  longer: clipOf(clocked('rate: 1 Hz', 'kind: slew, rise: 200 ms, curve: linear'), {
    seconds: 1.5,
    jack: 'one.out',
  }),
  silence: { sampleRate: 48_000, samples: new Float64Array(30_000) },
};
for (const [name, { sampleRate, samples }] of Object.entries(CLIPS))
  writeFileSync(
    join(folder, `${name}.wav`),
    await wavBytes([samples], { sampleRate, depth: '24' }),
  );
const both = (CLIPS.a as MonoClip).samples;
writeFileSync(
  join(folder, 'two.wav'),
  await wavBytes([both, both], { sampleRate: 48_000, depth: '16' }),
);
const gates = [0, 2400, 4800].map((late) =>
  new Float64Array(48_000).map((_, n) => (n > 4000 && (n - late) % 12_000 > 11_000 ? 0.5 : 0)),
);
writeFileSync(
  join(folder, 'gates.wav'),
  await wavBytes(gates, { sampleRate: 48_000, depth: '16' }),
);
writeFileSync(
  join(folder, 'later.wav'),
  await wavBytes([gates[0] as Float64Array, gates[2] as Float64Array], {
    sampleRate: 48_000,
    depth: '16',
  }),
);
writeFileSync(
  join(folder, 'sooner.wav'),
  await wavBytes([...gates].reverse(), { sampleRate: 48_000, depth: '16' }),
);
writeFileSync(join(folder, 'text.wav'), 'no sound at all');

async function made(units: string, volts = '') {
  const file = join(folder, 'dials.yaml');
  const text = `${volts}units:\n${units}\n`;
  const { dials, problems } = readDialClips(text, { file, kinds: KINDS, rack });
  if (dials === undefined) return { problems, found: [] };
  const report = new Report();
  const found = await calibrated(dials, report, async () => {});
  requireFits(found, report);
  return { problems: report.sorted(file), found };
}

async function intoRack(units: string): Promise<string> {
  const { problems, found } = await made(units);
  expect(problems).toEqual([]);
  return withDials('own.yaml', RACK, found);
}

describe('a dial table', () => {
  it('is written where there was none, and all else stays', async () => {
    const after = await intoRack('  bright: { dials: { cutoff: { 1: low.wav, 6.5: high.wav } } }');
    expect(after).toMatch(
      /^ {2}bright: \{ kind: filter, dials: \{ cutoff: \{ 1: .* Hz, 6.5: .* kHz \} \} \}$/m,
    );
    expect(after.replace(/, dials: \{ cutoff: .*? \} \}/, '')).toBe(RACK);
  });

  it('takes new positions in their order, and its own again', async () => {
    const after = await intoRack('  tone: { dials: { at-zero: { 2: a.wav, 4: c.wav } } }');
    expect(after).toBe(RACK.replace('0: 30 Hz, 4.0: 200 Hz,', '0: 30 Hz, 2: 50 Hz, 4.0: 440 Hz,'));
  });

  it('says which positions it takes the place of, with both values, and no others', async () => {
    const units = '  tone: { dials: { at-zero: { 2: a.wav, 4: c.wav } } }';
    const { found } = await made(units);
    expect(replacedPositions(found).map(replacedPositionText)).toEqual([
      'tone.at-zero at 4: 440 Hz takes the place of 200 Hz',
    ]);
    const { found: other } = await made(
      '  bright: { dials: { cutoff: { 1: low.wav, 6.5: high.wav } } }',
    );
    expect(replacedPositions(other)).toEqual([]);
  });

  it('keeps the lines and comments of one that has some', async () => {
    const after = await intoRack('  tone: { dials: { tune: { 0: a.wav, 10: b.wav } } }');
    const lines = after.split('\n');
    expect(lines[9]).toMatch(/^ {8}0: -4\.6\d st {3}# an octave down$/);
    expect(lines[10]).toMatch(/^ {8}10: 9 st$/);
    expect(readRack(after, { file: 'own.yaml', kinds: KINDS }).problems).toEqual([]);
  });

  it('is made of clocks, levels and glides too', async () => {
    const { problems, found } = await made(
      [
        '  beat: { dials: { rate: { 0: slow.wav, 10: quick.wav } } }',
        '  mix: { dials: { level-2: { input: dry.wav, 0: silence.wav, 4: less.wav, 10: dry.wav } } }',
        '  lag: { dials: { rise: { 2: glide.wav, 5: longer.wav } } }',
        '  echo: { dials: { time: { trigger: 1, channel: 2, 0: gates.wav, 10: later.wav } } }',
      ].join('\n'),
      'volts: 10 V\n',
    );
    expect(problems).toEqual([]);
    const after = withDials('own.yaml', RACK, found);
    expect(after).toContain('beat: { kind: clock, dials: { rate: { 0: 9 Hz, 10: 60 Hz } } }');
    expect(after).toContain('dials: { time: { 0: 50 ms, 10: 100 ms } }');
    expect(after).toContain('level-2: { 0: 0 %, 4: 40 %, 10: 100 % }');
    const [short = 0, long = 0] = (found[2]?.points ?? []).map(({ value }) => value);
    const why = 'promised of times';
    close(short, 0.08, { rel: 0.03, unit: 's', why });
    close(long, 0.2, { rel: 0.03, unit: 's', why });
  });

  it('says where the other knob stood, or that it did not', async () => {
    const alsoOf = async (setting: string) =>
      (await made(`  bright: { dials: { ${setting}: { 1: low.wav, 2: high.wav } } }`)).found[0]
        ?.also;
    expect(await alsoOf('cutoff')).toEqual([
      expect.stringMatching(/^its q stood at 0\.[67]\d*, \+- [\d.]+ %$/),
    ]);
    // Their corners are 300 Hz and 2 kHz.
    expect(await alsoOf('q')).toEqual([
      expect.stringMatching(/^its cutoff was moved: it goes from [23]\d\d Hz to [12]\S* kHz/),
    ]);
  });

  it('says at its place which neighbours are closer than their errors, as long as they are', async () => {
    const { problems, found } = await made(
      '  bright: { dials: { cutoff: { 1: low.wav, 3: near.wav, 6.5: high.wav } } }',
    );
    expect(problems).toEqual([]);
    const [dial] = found;
    if (dial === undefined) throw new Error('nothing was measured');
    const words = 'cutoff: 1 and 3 are closer than their errors';
    expect(dialReport(dial)).toContain(words);
    expect(dialData(dial)).toMatchObject({ closerThanErrors: [[1, 3]] });
    const once = withDials('own.yaml', RACK, found);
    expect(once).toMatch(new RegExp(`^ {2}bright: .*\\} # ${words}$`, 'm'));
    expect(withDials('own.yaml', once, found)).toBe(once);
    const apart = await made('  bright: { dials: { cutoff: { 1: low.wav, 6.5: high.wav } } }');
    expect(withDials('own.yaml', RACK, apart.found)).not.toContain('closer');
    expect(withDials('own.yaml', once, apart.found)).not.toContain('closer');
  });

  it('may have a gap that is meant', async () => {
    const clips = '0: a.wav, 1: long.wav, 2: b.wav, 10: c.wav';
    const said = await made(`  tone: { dials: { at-zero: { ${clips} } } }`);
    expect(said.problems.map(({ expected }) => expected)).toEqual([
      expect.stringMatching(/^one there as well, such as at 6,.* or gaps: meant/),
    ]);
    const { problems, found } = await made(
      `  tone: { dials: { tune: { gaps: meant, ${clips} } } }`,
    );
    expect(problems).toEqual([]);
    expect(found[0]?.points.map(({ clip }) => clip.position)).toEqual([0, 1, 2, 10]);
  });

  it('is told in words and drawn with what was there before', async () => {
    const { found } = await made('  tone: { dials: { at-zero: { 2: a.wav, 4: c.wav } } }');
    const [dial] = found;
    if (dial === undefined) throw new Error('nothing was measured');
    expect(dialReport(dial)).toContain('at-zero: { 2: 50 Hz, 4: 440 Hz }');
    close(dial.points[1]?.value ?? 0, 440, { rel: 0.0006, unit: 'Hz', why: 'one cent' });
    const picture = dialsPicture('Bench', found);
    expect(picture.match(/<circle/g)).toHaveLength(2);
    expect(picture).toContain('stroke-dasharray="6 4"');
    expect(picture).not.toMatch(/NaN|Infinity|undefined/);
  });
});

describe('a dial file that is wrong', () => {
  const WRONG: readonly (readonly [string, string, RegExp])[] = [
    ['a blank', 'tone: { dials: { at-zero: { 0: a.wav, 5: , 10: c.wav } } }', /"5" has no value/],
    [
      'a double',
      'tone: { dials: { at-zero: { 5: a.wav, 5.0: c.wav } } }',
      /position 5 is there already, on line 2/,
    ],
    [
      'a clip twice',
      'tone: { dials: { at-zero: { 0: a.wav, 5: a.wav } } }',
      /that of position 0 too/,
    ],
    [
      'a gap',
      'tone: { dials: { at-zero: { 0: a.wav, 1: b.wav, 2: c.wav, 9: low.wav } } }',
      /no clip lies between the positions 2 and 9/,
    ],
    ['one position', 'tone: { dials: { at-zero: { 0: a.wav } } }', /has 1 clip/],
    [
      'a turn',
      'tone: { dials: { at-zero: { 1: a.wav, 2: c.wav, 3: b.wav } } }',
      /at-zero turns here: 440 Hz at 2, 110 Hz at 3/,
    ],
    [
      'a contradiction',
      'tone: { dials: { at-zero: { 5: a.wav, 6: b.wav } } }',
      /50 Hz at 5 contradicts what tone has at 4 in the rack/,
    ],
    ['no unit', 'tne: { dials: { at-zero: { 0: a.wav, 1: b.wav } } }', /no unit "tne"/],
    [
      'another kind',
      'tone: { kind: filter, dials: { cutoff: { 0: a.wav, 1: b.wav } } }',
      /is of the kind "oscillator" in own.yaml/,
    ],
    [
      'no such setting',
      'tone: { dials: { width: { 0: a.wav, 1: b.wav } } }',
      /no recording tells "width"/,
    ],
    [
      'a fixed setting',
      'old: { dials: { decay: { 0: a.wav, 1: b.wav } } }',
      /"decay" is fixed on old/,
    ],
    [
      'another word for gaps',
      'tone: { dials: { tune: { gaps: yes, 0: a.wav, 1: b.wav } } }',
      /"gaps" cannot be "yes"/,
    ],
    [
      'no volts',
      'hiss: { dials: { level: { 0: a.wav, 1: b.wav } } }',
      /what full scale of the recordings stands for/,
    ],
    [
      'a strange word',
      'tone: { dials: { at-zero: { 0: a.wav, 1: b.wav, jack: saw } } }',
      /"jack" is neither a position/,
    ],
    [
      'another jack',
      'bright: { dials: { cutoff: { 0: a.wav, 1: b.wav, jack: lo } } }',
      /"jack" cannot be "lo"/,
    ],
    [
      'another input',
      'bright: { dials: { cutoff: { 0: a.wav, 1: b.wav, input: brown } } }',
      /"brown" is not a noise/,
    ],
    [
      'a path that is none',
      'tone: { dials: { at-zero: { 0: a.wav, 1: /etc/b.wav } } }',
      /not a path from here/,
    ],
    ['no file', 'tone: { dials: { at-zero: { 0: a.wav, 1: lost.wav } } }', /there is no file/],
    ['no sound', 'tone: { dials: { at-zero: { 0: a.wav, 1: text.wav } } }', /text.wav/],
    ['two channels', 'tone: { dials: { at-zero: { 0: a.wav, 1: two.wav } } }', /has 2 channels/],
    [
      'no third channel',
      'tone: { dials: { at-zero: { channel: 3, 0: two.wav, 1: c.wav } } }',
      /has 2 channels/,
    ],
    ['silence', 'tone: { dials: { at-zero: { 0: a.wav, 1: silence.wav } } }', /it is silence/],
    ['noise for a tone', 'tone: { dials: { at-zero: { 0: a.wav, 1: high.wav } } }', /has no pitch/],
    [
      'a tone for noise',
      'bright: { dials: { cutoff: { 0: low.wav, 1: long.wav } } }',
      /long.wav: this is no/,
    ],
    [
      'a sound for volts',
      'shape: { dials: { decay: { as: volts, 0: hit.wav, 1: c.wav } } }',
      /hit.wav: this is a sound, not the volts/,
    ],
    [
      'nothing that goes in',
      'mix: { dials: { level-1: { 0: less.wav, 1: dry.wav } } }',
      /nothing says what goes in/,
    ],
    [
      'a delay without its trigger',
      'echo: { dials: { time: { channel: 2, 0: two.wav, 1: a.wav } } }',
      /which channel is the trigger/,
    ],
    [
      'a trigger on the other channel',
      'echo: { dials: { time: { trigger: 1, channel: 2, 0: sooner.wav, 1: gates.wav } } }',
      /sooner.wav: a pulse comes before its trigger/,
    ],
    [
      'a trigger that is no gate',
      'echo: { dials: { time: { trigger: 1, channel: 2, 0: two.wav, 1: gates.wav } } }',
      /two.wav: there is no gate or clock in it/,
    ],
    [
      'a straight glide and no volts',
      'lag: { dials: { rise: { 0: glide.wav, 1: longer.wav } } }',
      /glide.wav: a straight glide is timed by volts/,
    ],
    [
      'a tone for a clock',
      'beat: { dials: { rate: { 0: a.wav, 1: slow.wav } } }',
      /a.wav: there is no gate or clock in it/,
    ],
    ['no map', '[1, 2]', /"units" cannot be a list/],
  ];

  it.each(WRONG)('is told with its place: %s', async (_, units, words) => {
    const { problems, found } = await made(`  ${units}`);
    const named = problems.filter(({ message }) => words.test(message));
    expect(named, JSON.stringify(problems)).toHaveLength(1);
    expect(named[0]?.place.line).toBeGreaterThan(0);
    if (found.length > 0) expect(problems.length).toBeGreaterThan(0);
  });

  it('leaves rack and chart as they were', () => {
    const file = join(folder, 'own.yaml');
    writeFileSync(file, RACK);
    writeFileSync(
      join(folder, 'bad.yaml'),
      'units:\n  tone: { dials: { at-zero: { 1: a.wav, 2: c.wav, 3: silence.wav } } }\n',
    );
    writeFileSync(join(folder, 'old.svg'), 'old');
    const { status, stdout, stderr } = forehear(folder, [
      'calibrate',
      'bad.yaml',
      '--into',
      'own.yaml',
      '--svg',
      'old.svg',
      '--force',
    ]);
    expect({ status, stdout }, stderr).toEqual({ status: 2, stdout: '' });
    expect(stderr).toMatch(
      /^bad\.yaml:2:54: silence\.wav: it is silence\n.*\n +\^{11}\n {2}expected some seconds/,
    );
    expect(readFileSync(file, 'utf8')).toBe(RACK);
    expect(readFileSync(join(folder, 'old.svg'), 'utf8')).toBe('old');
  });
});
