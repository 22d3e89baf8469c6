// The voices of a patch, against what a person reads in its file: a part is a voice, a channel of the
// mix is one, and modules that several voices use are shared.

import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import { byVoice, voiceOfCable, voicesOf } from '../../src/output/voices.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { randomPatch, readRandom } from '../engine/random-patch.ts';
import { runs } from '../runs.ts';
import { example } from './sheet-patches.ts';

const FOLDER = fileURLToPath(new URL('../../patches/', import.meta.url));
const EXAMPLES = readdirSync(FOLDER).flatMap((file) =>
  file.endsWith('.yaml') ? [file.replace('.yaml', '')] : [],
);

/** Read off the files: voices with the channels that start them, and what is in none of them. */
const KNOWN: Readonly<Record<string, readonly [Readonly<Record<string, string>>, string]>> = {
  'bass-line': [{ kick: 'kick', tone: '' }, 'drums mix out'],
  'closed-hat': [{ hat: 'hat' }, 'drums out'],
  'counted-in': [{ sticks: 'sticks', tambourine: 'tambourine' }, 'drums left right out'],
  cymbals: [{ ride: 'ride', crash: 'crash' }, 'drums left right out'],
  'followed-clock': [{ hat: 'hat', tone: '' }, 'beat edges drums out'],
  'hand-percussion': [
    { clap: 'clap', rim: 'rim', bell: 'bell', shaker: 'shaker' },
    'drums left right out',
  ],
  kick: [{ kick: 'kick' }, 'drums out'],
  'kit-of-eight': [
    {
      kick: 'kick',
      snare: 'snare',
      hats: 'closed open',
      shaker: 'shaker',
      'low-tom': 'low-tom',
      'high-tom': 'high-tom',
      crash: 'crash',
    },
    'drums beat beat-split left right out',
  ],
  'metal-hats': [{ hats: 'closed open' }, 'drums out'],
  'next-room': [{ drum: 'drum', hiss: 'hiss', bell: 'bell' }, 'drums sum room out'],
  'open-hat': [{ hats: 'closed open' }, 'drums out'],
  'plucked-and-struck': [
    { pluck: 'pluck', low: 'hand', high: 'hand' },
    'drums hands turns accents left right out',
  ],
  snare: [{ snare: 'snare' }, 'drums out'],
  'struck-drums': [{ kick: 'kick', snare: 'snare' }, 'drums mix out'],
  toms: [{ low: 'low', mid: 'mid', high: 'high' }, 'drums left right out'],
  'two-bar-kit': [{ kick: 'kick', snare: 'snare', hats: 'closed open' }, 'drums mix out'],
};

function read(text: string): Patch {
  const { patch, problems } = readPatch(text, { file: 'it.yaml', kinds: KINDS });
  if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('\n'));
  return patch;
}

function namesOf(patch: Patch): readonly string[] {
  return voicesOf(patch).voices.map(({ name }) => name);
}

/** Fails unless each module is in one voice, or shared, and each voice has a name of its own. */
function expectWhole(patch: Patch): void {
  const { voices, shared, of } = voicesOf(patch);
  const all = [...voices.flatMap(({ modules }) => modules), ...shared];
  expect(all.toSorted()).toEqual(patch.modules.map(({ name }) => name).toSorted());
  expect(new Set(voices.map(({ name }) => name)).size).toBe(voices.length);
  for (const voice of voices) for (const name of voice.modules) expect(of(name)).toBe(voice);
  for (const name of shared) expect(of(name)).toBeUndefined();
  const cables = byVoice(patch.cables, voicesOf(patch), (one) =>
    voiceOfCable(one, voicesOf(patch)),
  );
  expect(cables.flatMap(({ items }) => items)).toHaveLength(patch.cables.length);
}

describe('the voices of the examples', () => {
  it('are known for every one of them', () => {
    expect(Object.keys(KNOWN).toSorted()).toEqual(EXAMPLES.toSorted());
  });

  it.each(Object.entries(KNOWN))('of %s', (name, [voices, shared]) => {
    const patch = example(name);
    expectWhole(patch);
    const found = voicesOf(patch);
    expect(
      Object.fromEntries(
        found.voices.map((voice) => [
          voice.name,
          voice.channels.map(({ channel }) => channel).join(' '),
        ]),
      ),
    ).toEqual(voices);
    // In the order of the file.
    expect(found.voices.map((voice) => voice.name)).toEqual(Object.keys(voices));
    expect(found.shared.toSorted()).toEqual(shared.split(' ').toSorted());
    // A part is whole.
    for (const { name: module } of patch.modules)
      if (module.includes('.')) expect(found.of(module)?.name).toBe(module.split('.')[0]);
  });
});

describe('the voices of other patches', () => {
  const voice = (name: string, source: string): string =>
    `  ${name}-shape: { kind: envelope }\n  ${name}-level: { kind: amplifier }\n${source}`;
  const wired = (name: string, source: string, into: string): string =>
    `  - drums.${name} -> ${name}-shape.trigger\n  - ${name}-shape.out -> ${name}-level.control\n  - ${source} -> ${name}-level.in\n  - ${name}-level.out -> ${into}\n`;
  const head = `modules:
  drums: { kind: rhythm, channels: [a, b], patterns: { p: { a: "x---", b: "--x-" } }, song: [p] }
  out: { kind: output }
`;

  it('share the noise that both are made of, and the room that both are in', () => {
    const patch = read(
      `${head}${voice('a', '')}${voice('b', '')}  hiss: { kind: noise }
  sum: { kind: mixer }
  room: { kind: reverberator }
cables:
${wired('a', 'hiss.white', 'sum.in-1')}${wired('b', 'hiss.pink', 'sum.in-2')}  - sum.out -> room.in
  - room.left -> out.left
  - room.right -> out.right
`,
    );
    expect(namesOf(patch)).toEqual(['a', 'b']);
    expect(voicesOf(patch).shared.toSorted()).toEqual(['drums', 'hiss', 'out', 'room', 'sum']);
  });

  it('are one where the same strokes start what a mixer adds up', () => {
    const patch = read(
      `${head}  split: { kind: multiple, jacks: 4 }
  body: { kind: resonator }
  hiss: { kind: noise }
  shape: { kind: envelope }
  rattle: { kind: amplifier }
  bell: { kind: resonator }
  sum: { kind: mixer }
cables:
  - drums.a -> split.in
  - split.out-1 -> body.strike
  - split.out-2 -> shape.trigger
  - shape.out -> rattle.control
  - hiss.white -> rattle.in
  - drums.b -> bell.strike
  - body.out -> sum.in-1
  - rattle.out -> sum.in-2
  - bell.out -> sum.in-3
  - sum.out -> out.left
`,
    );
    expect(namesOf(patch)).toEqual(['a', 'b']);
    expect(voicesOf(patch).of('split')?.name).toBe('a');
    expect(voicesOf(patch).of('rattle')).toBe(voicesOf(patch).of('body'));
  });

  it('are named after their sources where nothing starts them', () => {
    const patch = read(`modules:
  low: { kind: oscillator }
  high: { kind: oscillator }
  sum: { kind: mixer }
  out: { kind: output }
cables:
  - low.sine -> sum.in-1
  - high.sine -> sum.in-2
  - sum.out -> out.left
`);
    expect(namesOf(patch)).toEqual(['low', 'high']);
  });

  it('go round in circles without end neither here', () => {
    const patch = read(`modules:
  a: { kind: mixer }
  b: { kind: filter }
  hiss: { kind: noise }
  out: { kind: output }
cables:
  - hiss.white -> a.in-1
  - b.low -> a.in-2
  - a.out -> b.in
  - b.high -> out.left
`);
    expectWhole(patch);
    expect(voicesOf(patch).shared).toEqual(['out']);
  });

  it('are none where nothing reaches the output', () => {
    const patch = read('modules:\n  hiss: { kind: noise }\n  out: { kind: output }\n');
    expect(namesOf(patch)).toEqual([]);
    expectWhole(patch);
  });

  it('have each module once, in patches put together at random', () => {
    fc.assert(
      fc.property(randomPatch, ({ text }) => {
        const patch = readRandom(text);
        if (patch !== undefined) expectWhole(patch);
      }),
      runs(150),
    );
  });
});
