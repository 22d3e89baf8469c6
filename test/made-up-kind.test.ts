// One more kind, by one file: everything that shows, checks or teaches a patch handles it like the
// existing kinds, from its definition alone.

import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Ajv } from 'ajv';
import { describe, expect, it } from 'vitest';
import { compare } from '../src/compare/comparison.ts';
import { ownCrew } from '../src/compare/crew.ts';
import { gridOf } from '../src/compare/grid.ts';
import { movesBetween } from '../src/compare/moves.ts';
import { readVariant } from '../src/compare/variant.ts';
import { ComparisonError, readVariations } from '../src/compare/vary.ts';
import { patchLevels } from '../src/electrical/levels.ts';
import { netlist } from '../src/electrical/nets.ts';
import { render } from '../src/engine/render.ts';
import { check } from '../src/findings/check.ts';
import { contextOf } from '../src/findings/context.ts';
import { mended } from '../src/findings/mend/mending.ts';
import { planFor } from '../src/findings/plan/plan.ts';
import { surveyOf } from '../src/findings/survey.ts';
import { voicePath } from '../src/fit/path.ts';
import { readKnobs, usualKnobs } from '../src/fit/settings.ts';
import { KINDS } from '../src/modules/kinds.ts';
import { alongSteps, voltsAt } from '../src/output/along/along.ts';
import { wireSorts } from '../src/output/diagram/wires.ts';
import { formatReference } from '../src/output/format-reference.ts';
import { stagesOf } from '../src/output/lesson/stages.ts';
import { midiFile } from '../src/output/score/midi-file.ts';
import { scoreOf } from '../src/output/score/score-of.ts';
import { levelEnvelopes } from '../src/output/sheet/level-envelopes.ts';
import { sheetOf } from '../src/output/sheet/sheet.ts';
import { sheetMarkdown } from '../src/output/sheet/sheet-markdown.ts';
import { placeOf } from '../src/page/worker/place.ts';
import { viewOf } from '../src/page/worker/view.ts';
import { jackName, type Patch } from '../src/patch/patch.ts';
import { readDialClips } from '../src/patch/rack/dial-clips.ts';
import { readRack, withRack } from '../src/patch/rack/read-rack.ts';
import { readPatch } from '../src/patch/read.ts';
import { patchSchema } from '../src/patch/schema.ts';
import type { PatchTexts } from '../src/patch/texts.ts';
import { close } from './close.ts';
import { blend } from './modules/blend.ts';
import { crackle } from './modules/crackle.ts';
import { swell, swelling, valve } from './modules/swell.ts';

const kinds = [...KINDS, blend, swell, valve, crackle];

function read(text: string): Patch {
  const { patch, problems } = readPatch(text, { file: 'fade.yaml', kinds });
  if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('\n'));
  return patch;
}

/** Two envelopes into one amplifier, through the blend. */
const SHAPES = `modules:
  drums:
    kind: rhythm
    channels: [hit]
    patterns: { beat: { hit: "x---" } }
    song: [beat]
  short: { kind: envelope, release: 30 ms }
  long:  { kind: envelope, release: 300 ms }
  split: { kind: multiple }
  fade:  { kind: blend, mix: 30 % }
  hiss:  { kind: noise, level: 3 V }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hit   -> split.in
  - split.out-1 -> short.trigger
  - split.out-2 -> long.trigger
  - short.out   -> fade.a
  - long.out    -> fade.b
  - fade.out    -> level.control
  - hiss.white  -> level.in
  - level.out   -> out.left
`;

function sortOf(patch: Patch, from: string): string {
  const cable = patch.cables.find((one) => jackName(one.from) === from);
  if (cable === undefined) throw new Error(`no cable from ${from}`);
  return wireSorts(netlist(patch))(cable);
}

describe('a kind that is only a definition', () => {
  it('is read, and completed by the schema', () => {
    const patch = read(blend.example);
    expect(patch.modules.find(({ name }) => name === 'fade')?.settings.mix).toBe(0.3);
    const validate = new Ajv({ strict: false }).compile(patchSchema(kinds));
    const modules = (kind: object) => ({ title: 'T', modules: { fade: kind } });
    expect(validate(modules({ kind: 'blend', mix: '30 %' }))).toBe(true);
    expect(validate(modules({ kind: 'blend', mix: '30 Hz' }))).toBe(false);
  });

  it('stands in the format reference, with its jacks and limits', () => {
    const reference = formatReference(kinds);
    expect(reference).toContain('Goes over from one signal to another.');
    expect(reference).toContain('Both, in these shares.');
    expect(reference).toContain('Limits:\n\n- It goes over at once, without the lag of a lamp.');
  });

  it('is checked: it works as it stands, and says what it lacks', () => {
    expect(check(read(blend.example))).toEqual([]);
    const without = blend.example.replace(/ {2}- hiss.*\n/g, '').replace('-> fade', '-> out');
    const messages = check(read(without)).map(({ message }) => message);
    expect(messages.join('\n')).toContain('so it has nothing to go over between.');
  });

  it('carries on what comes in: an envelope stays a control voltage, sound stays sound', () => {
    expect(sortOf(read(SHAPES), 'fade.out')).toBe('control');
    expect(sortOf(read(blend.example), 'fade.out')).toBe('audio');
    // So an envelope through it moves an amplifier, and is a mistake where sound is wanted.
    expect(check(read(SHAPES))).toEqual([]);
    const unheard = SHAPES.replace('-> level.control', '-> level.?')
      .replace('-> level.in', '-> level.control')
      .replace('-> level.?', '-> level.in');
    expect(check(read(unheard)).map(({ rule }) => rule)).toContain('signal-mismatch');
  });

  it('is on the hand-out, with its cables and settings', async () => {
    const sheet = await sheetOf(read(SHAPES), {
      length: { unit: 'song' },
      clip: false,
    } as Parameters<typeof sheetOf>[1]);
    const text = sheetMarkdown(sheet);
    expect(text).toMatch(/fade\.out.*level\.control/);
    expect(text).toMatch(/fade.*\n?.*30 %/);
  });

  it('is taught under its own title', () => {
    const filtered = blend.example
      .replace('fade.out   -> out', 'fade.out -> bright.in\n  - bright.low -> out')
      .replace('modules:', 'modules:\n  bright: { kind: filter, cutoff: 1 kHz }');
    const titles = stagesOf(read(filtered)).map(({ title }) => title);
    expect(titles).toContain('Faded over: fade');
  });

  it('is on the page, its setting to be moved', () => {
    const patch = read(blend.example);
    const files = { main: 'fade.yaml', set: [], texts: { 'fade.yaml': blend.example } };
    const view = viewOf(patch, files, placeOf(patch, undefined, undefined));
    const fade = view.modules.find(({ name }) => name === 'fade');
    expect(JSON.stringify(fade)).toContain('"mix"');
  });
});

describe('an envelope, and what it opens, that are only definitions', () => {
  const patch = read(swelling('50 %', '100 ms'));
  const rules = (text: string): readonly string[] => check(read(text)).map(({ rule }) => rule);

  it('are told when they cannot open, open too far, are cut short, and are moved too far', () => {
    expect(rules(swelling('50 %', '100 ms'))).toEqual([]);
    expect(rules(swelling('0.1 %', '100 ms'))).toContain('amplifier-never-opens');
    // Five volts are twice what leaves a sound as it is, and 1 kHz and five octaves are over 0.45 of 48 kHz.
    const loud = rules(swelling('100 %', '100 ms'));
    expect(loud.toSorted()).toEqual(['amplifier-overdriven', 'cutoff-out-of-range']);
    // Hits are 250 ms apart: of a fall of 2 s most is left.
    expect(rules(swelling('50 %', '2 s'))).toContain('tail-cut');
  });

  it('have their phases in the score of time, and their line beside a hit', () => {
    const score = scoreOf(patch, { sampleRate: 48_000, seconds: 0.4, curves: true });
    const lane = score?.lanes.find(({ type }) => type === 'phases');
    expect(lane).toMatchObject({ name: 'shape', peak: 5 });
    const phases = lane?.type === 'phases' ? lane.marks.map(({ phase }) => phase) : [];
    expect(phases).toEqual(expect.arrayContaining(['attack', 'decay', 'rest']));
    expect(levelEnvelopes(netlist(patch), { module: 'gate', jack: 'out' })).toEqual(['shape']);
  });

  it('are taught one after the other, are surveyed, and are moved by a fit', () => {
    const titles = stagesOf(patch).map(({ title }) => title);
    expect(titles).toContain('The control voltage: shape');
    expect(surveyOf(patch).map(({ jack }) => jack)).toEqual(['shape.trigger']);
    const knobs = usualKnobs(patch, new Set(patch.modules.map(({ name }) => name)));
    expect(knobs.map(({ path }) => path)).toContain('shape.decay');
  });

  it('are asked of a rack', () => {
    const text = 'units:\n  one: { kind: swell }\n';
    const { rack } = readRack(text, { file: 'rack.yaml', kinds });
    if (rack === undefined) throw new Error('no rack');
    const owned = withRack(patch, rack).patch as Patch;
    const short = check(owned).filter(({ rule }) => rule === 'rack-short');
    expect(short.map(({ message }) => message).join('\n')).toContain('valve');
    expect(short.map(({ message }) => message).join('\n')).not.toContain('swell');
  });
});

/** Two crackles, each behind a valve that a swell of its own opens, added up. */
const CRACKLES = `modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [one, two], patterns: { beat: { one: "x-x-", two: "x---" } }, song: [beat] }
  rise:  { kind: swell, decay: 60 ms }
  lift:  { kind: swell, decay: 90 ms }
  first: { kind: crackle }
  other: { kind: crackle, level: 1 V }
  gate:  { kind: valve }
  door:  { kind: valve }
  half:  { kind: attenuator, level: 50 % }
  part:  { kind: attenuator, level: 50 % }
  fade:  { kind: blend }
  out:   { kind: output }
cables:
  - drums.one -> rise.trigger
  - drums.two -> lift.trigger
  - rise.out  -> half.in
  - half.out  -> gate.control
  - lift.out  -> part.in
  - part.out  -> door.control
  - first.out -> gate.in
  - other.out -> door.in
  - gate.out  -> fade.a
  - door.out  -> fade.b
  - fade.out  -> out.left
`;

describe('a source, envelopes and sums that are only definitions', () => {
  const patch = read(CRACKLES);

  it('have volts, which are halved and added up as the definitions say', () => {
    const nets = netlist(patch);
    const [found] = patchLevels(patch, 0, nets).filter(({ net }) =>
      net.inputs.some(({ module, jack }) => module.name === 'gate' && jack.name === 'control'),
    );
    // 5 V of a swell at 50 %, from 1 kohm into 100 kohm: the definition's resistances, by Ohm's law.
    close(found?.high, 2.5 * (100 / 101) ** 2, { abs: 5e-10, unit: 'V', why: 'rounding' });
    close(voltsAt(patch, { module: 'gate', jack: 'in' }).high, 2 * (100 / 101), {
      abs: 5e-10,
      unit: 'V',
      why: 'rounding',
    });
    expect(voltsAt(patch, { module: 'rise', jack: 'trigger' }).trigger?.on).toBe(2.5);
  });

  it('are checked at a trigger, where noise is no gate', () => {
    const slip = CRACKLES.replace('drums.two -> lift.trigger', 'other.out -> lift.trigger').replace(
      '  - other.out -> door.in\n',
      '',
    );
    const messages = check(read(slip)).map(({ message }) => message);
    expect(messages.join('\n')).toContain('noise crosses the threshold at random');
  });

  it('are played, and have their strokes in a score and a MIDI file', () => {
    const [left = new Float64Array()] = render(patch, {}).channels;
    expect(left.some((value) => Math.abs(value) > 0.01)).toBe(true);
    const lanes = scoreOf(patch, { sampleRate: 48_000, seconds: 0.5, curves: false })?.lanes ?? [];
    expect(lanes.filter(({ type }) => type === 'phases').map(({ name }) => name)).toEqual(
      expect.arrayContaining(['rise', 'lift']),
    );
    // Four sixteenths at 120 bpm are half a second: two strokes of one, one of two.
    const { strokes } = midiFile(patch, 0.5);
    expect(strokes.map(({ jack, notes }) => [jack, notes])).toEqual([
      ['drums.one', 2],
      ['drums.two', 1],
    ]);
  });

  it('are patched along, cable by cable', () => {
    const steps = alongSteps(patch);
    expect(steps.length).toBe(patch.cables.length);
    expect(steps.map(({ name }) => name).join('\n')).toMatch(/first\.out.*gate\.in/);
  });

  it('have moves from one patch to another, in which one of a kind is used again', () => {
    const renamed = CRACKLES.replaceAll('other', 'noisy').replace('level: 1 V', 'level: 3 V');
    const moves = movesBetween(patch, read(renamed));
    expect(moves.map(({ type }) => type)).not.toContain('bring');
    expect(moves).toContainEqual(expect.objectContaining({ type: 'turn', to: '3 V' }));
  });

  it('have settings that a fit moves, and a way from each channel', () => {
    const channel = { module: 'drums', name: 'one', index: 0 };
    const path = voicePath(patch, channel);
    expect([...path].sort()).toEqual(['drums', 'fade', 'first', 'gate', 'half', 'out', 'rise']);
    const knobs = usualKnobs(patch, path).map(({ path: name }) => name);
    expect(knobs).toEqual(expect.arrayContaining(['rise.decay', 'first.shade', 'half.level']));
    expect(readKnobs(['first.level=1V..3V'], patch)).toMatchObject([{ low: 1, high: 3 }]);
  });

  it('have dials that recordings tell, and others that none does', () => {
    const clips = (setting: string) =>
      readDialClips(
        `volts: 10 V\nunits:\n  mine:\n    kind: crackle\n    dials: { ${setting}: { 0: a.wav, 5: b.wav, 10: c.wav } }\n`,
        { file: 'dials.yaml', kinds },
      );
    expect(clips('level').problems).toEqual([]);
    expect(
      clips('shade')
        .problems.map(({ message }) => message)
        .join(),
    ).toContain('no recording');
  });

  it('are planned for on a rack that has one source for two: it is shared', () => {
    const owned = (crackles: number) => {
      const text = `units:
  r: { kind: rhythm }
  s: { kind: swell, count: 2 }
  c: { kind: crackle, count: ${crackles} }
  v: { kind: valve, count: 2 }
  a: { kind: attenuator, count: 2 }
  b: { kind: blend }
  m: { kind: multiple }
  o: { kind: output }
`;
      const { rack, problems } = readRack(text, { file: 'rack.yaml', kinds });
      if (rack === undefined) throw new Error(problems.map(({ message }) => message).join());
      return planFor(contextOf(withRack(patch, rack).patch as Patch));
    };
    expect(owned(2)?.lacking).toBe(0);
    const short = owned(1);
    expect(short?.lacking).toBe(1);
    // Two of one kind of noise, as loud as one of them: what is heard is altered, and no hit is lost.
    expect(short?.cheapest?.cost).toMatchObject({ lostHits: 0, silentVoices: [] });
    expect(
      short?.cheapest?.patch.modules.filter(({ definition }) => definition === crackle),
    ).toHaveLength(1);
  });

  it('are on the page with their ranges', () => {
    const files = { main: 'fade.yaml', set: [], texts: { 'fade.yaml': CRACKLES } };
    const { modules } = viewOf(patch, files, placeOf(patch, undefined, undefined));
    const [level] = modules.find(({ name }) => name === 'first')?.settings ?? [];
    expect(level).toMatchObject({ name: 'level', control: { type: 'number', min: 0.1, max: 10 } });
  });
});

describe('patches with kinds of their own, read again with other settings', () => {
  const textsOf = (text: string): PatchTexts => ({
    main: 'own.yaml',
    set: [],
    texts: { 'own.yaml': text },
  });
  const variantOf = (texts: PatchTexts, ...set: string[]): Patch =>
    readVariant(texts, set, { kinds }).patch as Patch;
  const texts = textsOf(swelling('50 %', '100 ms'));
  const patch = variantOf(texts);

  it('are varied, each variant by its own energy, and are told as moves', async () => {
    const variations = readVariations(['shape.decay=40ms,160ms'], texts, patch, { kinds });
    const { variants, targetLufs } = await compare(
      {
        play: { sampleRate: 48_000, depth: '24', length: { unit: 'bars', value: 1 } },
        ...{ title: 'Swells', pairs: false, memory: 0 },
        variants: gridOf([{ source: { type: 'patch', written: texts }, variations }]),
        folder: mkdtempSync(join(tmpdir(), 'forehear-test-')),
        onProgress: () => undefined,
        isStopped: () => false,
      },
      ownCrew({ kinds }),
    );
    const [short = 0, long = 0] = variants.map(({ ownLufs }) => ownLufs ?? 0);
    // Straight rises and falls of white noise have a third of its power: the energy goes by their lengths.
    close(long - short, 10 * Math.log10((10 + 160) / (10 + 40)), {
      abs: 0.4,
      unit: 'LU',
      why: '8 hits of 50 ms of noise at 48 kHz differ by 0.1 dB; the meter weights by frequency',
    });
    for (const { measures } of variants)
      close(measures.loudnessLufs ?? 0, targetLufs ?? 1, {
        abs: 0.1,
        unit: 'LU',
        why: 'what a comparison promises',
      });
    const moves = movesBetween(patch, variantOf(texts, 'shape.decay=160ms'));
    expect(moves).toEqual([{ type: 'turn', what: 'shape.decay', from: '100 ms', to: '160ms' }]);
  });

  it('are not read where their kinds are not given, though they were read before', () => {
    expect(variantOf(texts).modules).toHaveLength(6);
    expect(
      readVariant(texts, [])
        .problems.map(({ message }) => message)
        .join(),
    ).toMatch(/swell/);
    expect(() => readVariations(['shape.decay=40ms,160ms'], texts, patch)).toThrow(ComparisonError);
  });

  it('are mended', () => {
    const doubled = textsOf(`${swelling('50 %', '100 ms')}  - gate.out -> out.right\n`);
    expect(check(variantOf(doubled)).map(({ rule }) => rule)).toEqual(['jack-doubled']);
    expect(mended(variantOf(doubled), doubled, { kinds }).left).toEqual([]);
  });
});
