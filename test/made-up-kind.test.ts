// One more kind, by one file: everything that shows, checks or teaches a patch handles it like the
// existing kinds, from its definition alone.

import { Ajv } from 'ajv';
import { describe, expect, it } from 'vitest';
import { netlist } from '../src/electrical/nets.ts';
import { check } from '../src/findings/check.ts';
import { surveyOf } from '../src/findings/survey.ts';
import { usualKnobs } from '../src/fit/settings.ts';
import { KINDS } from '../src/modules/kinds.ts';
import { wireSorts } from '../src/output/diagram/wires.ts';
import { formatReference } from '../src/output/format-reference.ts';
import { stagesOf } from '../src/output/lesson/stages.ts';
import { scoreOf } from '../src/output/score/score-of.ts';
import { levelEnvelopes } from '../src/output/sheet/level-envelopes.ts';
import { sheetOf } from '../src/output/sheet/sheet.ts';
import { sheetMarkdown } from '../src/output/sheet/sheet-markdown.ts';
import { placeOf } from '../src/page/worker/place.ts';
import { viewOf } from '../src/page/worker/view.ts';
import { jackName, type Patch } from '../src/patch/patch.ts';
import { readRack, withRack } from '../src/patch/rack/read-rack.ts';
import { readPatch } from '../src/patch/read.ts';
import { patchSchema } from '../src/patch/schema.ts';
import { blend } from './modules/blend.ts';
import { swell, valve } from './modules/swell.ts';

const kinds = [...KINDS, blend, swell, valve];

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

/** A noise behind a valve that a swell opens, through a level. @param level of what the swell gives. */
const swelling = (level: string, decay: string): string => `modules:
  drums:
    kind: rhythm
    tempo: 120 bpm
    channels: [hit]
    patterns: { beat: { hit: "x-x-" } }
    song: [beat]
  shape: { kind: swell, attack: 10 ms, decay: ${decay} }
  depth: { kind: attenuator, level: ${level} }
  hiss:  { kind: noise }
  gate:  { kind: valve, reach: 100 % }
  out:   { kind: output }
cables:
  - drums.hit  -> shape.trigger
  - shape.out  -> depth.in
  - depth.out  -> gate.control
  - hiss.white -> gate.in
  - gate.out   -> out.left
`;

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
