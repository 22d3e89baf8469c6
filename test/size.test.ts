// Patches as large as may be read, in the shapes that make a traversal longest: chains, rings and nets
// that are all connected. Code that follows cables must follow them to the end.

import { describe, expect, it } from 'vitest';
import { Prepared } from '../src/engine/prepared.ts';
import { stemsOf } from '../src/engine/stems.ts';
import { Take } from '../src/engine/take.ts';
import { check } from '../src/findings/check.ts';
import { voicePath } from '../src/fit/path.ts';
import { KINDS } from '../src/modules/kinds.ts';
import { blockFigures } from '../src/output/diagram/figures.ts';
import { roomFor } from '../src/output/diagram/room.ts';
import { wireSorts } from '../src/output/diagram/wires.ts';
import { stagesOf } from '../src/output/lesson/stages.ts';
import { cableList } from '../src/output/sheet/cables.ts';
import { MAX_MODULES } from '../src/patch/fragment.ts';
import type { Patch } from '../src/patch/patch.ts';
import { readPatch } from '../src/patch/read.ts';
import { MAX_PATTERNS } from '../src/patch/score/pattern.ts';

/** A rhythm, a source and an output are in each. */
const LINKS = MAX_MODULES - 3;
const RING = 1000;
/** s; a check takes 0.3 to 1.4, and 5 to 28 where each module's inputs ask for all that is before them. */
const LONGEST = 5;

function read(modules: readonly string[], cables: readonly string[]): Patch {
  const text = `modules:
  drums: { kind: rhythm, channels: [hat], patterns: { groove: { hat: "x---x---" } } }
  hiss: { kind: noise }
  out: { kind: output }
${modules.map((line) => `  ${line}`).join('\n')}
cables:
${cables.map((line) => `  - ${line}`).join('\n')}
`;
  const { patch, problems } = readPatch(text, { file: 'large.yaml', kinds: KINDS });
  expect(problems).toEqual([]);
  return patch as Patch;
}

/** A chain from a start to an end, written from its end, so that no module comes in its order. */
function chain(
  kind: string,
  [from, into, out, to]: readonly [from: string, into: string, out: string, to: string],
): Patch {
  const length = LINKS;
  const names = Array.from({ length }, (_, index) => `m${index}`);
  return read(
    names.map((name) => `${name}: { kind: ${kind} }`),
    [
      `m${length - 1}.${out} -> ${to}`,
      ...names
        .slice(1)
        .map((name, index) => `m${index}.${out} -> ${name}.${into}`)
        .toReversed(),
      `${from} -> m0.${into}`,
    ],
  );
}

/** Each drives the next, the last the first. */
function ring(kind: string, into: string, out: string): Patch {
  const names = Array.from({ length: RING }, (_, index) => `m${index}`);
  return read(
    names.map((name) => `${name}: { kind: ${kind} }`),
    [
      'hiss.white -> out.left',
      ...names.map((name, index) => `m${(index + RING - 1) % RING}.${out} -> ${name}.${into}`),
    ],
  );
}

const PATCHES: Readonly<Record<string, () => Patch>> = {
  'a chain of attenuators': () => chain('attenuator', ['hiss.white', 'in', 'out', 'out.left']),
  'a chain of mixers': () => chain('mixer', ['hiss.white', 'in-1', 'out', 'out.left']),
  'a chain of filters': () => chain('filter', ['hiss.white', 'in', 'low', 'out.left']),
  'a chain of amplifiers by their controls': () =>
    chain('amplifier', ['hiss.white', 'control', 'out', 'out.left']),
  'a chain of pulses': () => chain('pulse', ['drums.hat', 'trigger', 'out', 'out.left']),
  'a chain of delays': () => chain('delay', ['drums.hat', 'trigger', 'out', 'out.left']),
  'a chain of gates': () => chain('logic', ['drums.hat', 'a', 'or', 'out.left']),
  'a ring of mixers': () => ring('mixer', 'in-1', 'out'),
  'a ring of filters': () => ring('filter', 'in', 'low'),
  'a ring of pulses': () => ring('pulse', 'trigger', 'out'),
  'a ring of delays': () => ring('delay', 'trigger', 'out'),
  'a ring of gates': () => ring('logic', 'a', 'or'),
  'multiples of one another': () => chain('multiple', ['hiss.white', 'in', 'out-1', 'out.left']),
};

describe.each(Object.entries(PATCHES))('%s', (_, patchOf) => {
  const patch = patchOf();
  // What is worked out of it is worked out once, as in a command.
  const all = new Prepared(patch);

  it('is laid into nets, stems, voices and stages', () => {
    expect(all.nets.nets.length).toBeGreaterThan(0);
    expect(stemsOf(all).length).toBeGreaterThan(0);
    expect(voicePath(patch, undefined).size).toBeGreaterThan(0);
    expect(() => voicePath(patch, { module: 'drums', name: 'hat', index: 0 })).not.toThrow();
    expect(stagesOf(patch).length).toBeGreaterThan(0);
  });

  it('is drawn and listed', () => {
    const sort = wireSorts(all.nets);
    for (const cable of patch.cables) sort(cable);
    for (const figure of blockFigures(patch)) expect(roomFor(figure).width).toBeGreaterThan(0);
    expect(cableList(patch).length).toBeGreaterThan(0);
  });

  it('is checked, in seconds of the processor', () => {
    const started = process.cpuUsage();
    expect(() => check(all)).not.toThrow();
    expect(process.cpuUsage(started).user / 1e6).toBeLessThan(LONGEST);
  });

  it('is played', () => {
    const length = { unit: 'seconds', value: 0.001 } as const;
    const take = new Take(all, {
      sampleRate: 48_000,
      length,
      tail: { unit: 'seconds', value: 0 },
    });
    expect(take.read()).toBe(48);
    expect(take.channels[0]?.every(Number.isFinite)).toBe(true);
  });
});

describe('a score', () => {
  it('may have every pattern start from the one before', () => {
    const patterns = Array.from({ length: MAX_PATTERNS }, (_, index) =>
      index === MAX_PATTERNS - 1
        ? `p${index}: { hat: "x-" }`
        : `p${index}: { from: p${index + 1} }`,
    );
    const text = `modules:
  drums:
    kind: rhythm
    channels: [hat]
    patterns:
${patterns.map((line) => `      ${line}`).join('\n')}
`;
    const { patch, problems } = readPatch(text, { file: 'x.yaml', kinds: KINDS });
    expect(problems).toEqual([]);
    expect(patch).toBeDefined();
  });
});
