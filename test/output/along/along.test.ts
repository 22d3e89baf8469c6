// Patching along: every step has the volts of a patch that has its cables and no others.

import { describe, expect, it } from 'vitest';
import { patchLevels } from '../../../src/electrical/levels.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { type AlongStep, alongSteps, voltsAt } from '../../../src/output/along/along.ts';
import { triggerWords, voltsWords } from '../../../src/output/along/along-words.ts';
import { firstAtOutput, whySilent } from '../../../src/output/along/heard.ts';
import { cableList } from '../../../src/output/sheet/cables.ts';
import { jackName, type Patch } from '../../../src/patch/patch.ts';
import { readPatch } from '../../../src/patch/read.ts';
import { close } from '../../close.ts';
import { patchFrom as read, SHIPPED, shipped } from '../../patch-of.ts';
import { chained } from './chained.ts';

/** Steps of each example that are read again from a text: reading takes most of the time. */
const MOST_READ = 6;

/** An example of which each use of a part is a file of its own, so that every cable has its own line. */
function unfolded(name: string): { readonly patch: Patch; readonly texts: Map<string, string> } {
  const texts = new Map<string, string>();
  let count = 0;
  const main = shipped(name).replace(/parts\/([\w-]+\.yaml)/g, (_, part: string) => {
    count += 1;
    const file = `parts/${count}-${part}`;
    texts.set(file, shipped(`parts/${part}`));
    return file;
  });
  texts.set(name, main);
  return { patch: readAll(name, texts), texts };
}

function readAll(name: string, texts: ReadonlyMap<string, string>): Patch {
  const { patch, problems } = readPatch(texts.get(name) as string, {
    file: name,
    kinds: KINDS,
    load: (path) => texts.get(path),
  });
  if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('\n'));
  return patch;
}

/** The patch whose files have the lines of these cables and of no others. */
function withOnly(
  name: string,
  texts: ReadonlyMap<string, string>,
  whole: Patch,
  step: AlongStep,
): Patch {
  const kept = new Set(step.patch.cables.map(({ place }) => `${place.file} ${place.line}`));
  const cut = new Map(texts);
  for (const [file, text] of texts) {
    const gone = new Set(
      whole.cables
        .filter(({ place }) => place.file === file && !kept.has(`${file} ${place.line}`))
        .map(({ place }) => place.line),
    );
    const lines = text.split('\n').filter((_, index) => !gone.has(index + 1));
    const hasCable = lines.some((line) => /^ *- .*->/.test(line));
    cut.set(
      file,
      lines.map((line) => (hasCable ? line : line.replace(/^cables:.*$/, 'cables: []'))).join('\n'),
    );
  }
  return readAll(name, cut);
}

/** The volts of all jacks that a cable reaches. */
function figures(patch: Patch): object {
  return patchLevels(patch).map(({ net: { jacks }, low, high, rest }) => ({
    jacks: jacks.map(jackName),
    low,
    high,
    rest,
  }));
}

describe.each(SHIPPED)('%s, patched along', (name) => {
  const { patch, texts } = unfolded(name);
  const steps = alongSteps(patch);

  it('has a step for each cable, in the order and with the numbers of the cable list', () => {
    const listed = cableList(patch).flatMap(({ cables }) => cables);
    expect(steps.map(({ name: cable }) => cable)).toEqual(
      listed.map(({ from, to }) => `${jackName(from)} ${jackName(to)}`),
    );
    expect(steps.map(({ cable }) => cable.number)).toEqual(listed.map(({ number }) => number));
    expect(steps.map(({ patch: sofar }) => sofar.cables.length)).toEqual(
      steps.map((_, index) => index + 1),
    );
  });

  it('has the volts of the whole patch after its last cable', () => {
    const last = steps.at(-1) as AlongStep;
    const levels = patchLevels(patch);
    for (const { cable } of steps) {
      const net = levels.find(({ net: { jacks } }) =>
        jacks.some((jack) => jackName(jack) === jackName(cable.to)),
      );
      const { low, high, rest } = voltsAt(last.of, cable.to);
      expect({ low, high, rest }, jackName(cable.to)).toEqual({
        low: net?.low,
        high: net?.high,
        rest: net?.rest,
      });
    }
  });

  it('has in between the volts of a file with these cables only', () => {
    const every = Math.ceil(steps.length / MOST_READ);
    steps.forEach((step, index) => {
      if (index % every !== 0) return;
      const alone = withOnly(name, texts, patch, step);
      expect(alone.cables).toHaveLength(index + 1);
      const { to } = step.cable;
      expect(voltsAt(step.patch, to), step.name).toEqual(voltsAt(alone, to));
      expect(figures(step.patch), step.name).toEqual(figures(alone));
    });
  });
});

describe('the volts so far', () => {
  it('fall with each input that a multiple feeds: the loaded divider, V = E / (1 + n Rs / Rin)', () => {
    // Closed form: 5 V behind 1 kohm, n inputs of 100 kohm.
    const patch = read(`
modules:
  drums: { kind: rhythm, channels: [hit], patterns: { beat: { hit: "x---" } } }
  split: { kind: multiple }
  one: { kind: envelope }
  two: { kind: envelope }
  three: { kind: envelope }
cables:
  - drums.hit -> split.in
  - split.out-1 -> one.trigger
  - split.out-2 -> two.trigger
  - split.out-3 -> three.trigger
`);
    const why = 'closed form; only the rounding of doubles is left';
    alongSteps(patch).forEach(({ patch: sofar, cable }, inputs) => {
      const { high, rest } = voltsAt(sofar, cable.to);
      close(high, 5 / (1 + inputs / 100), { abs: 1e-12, unit: 'V', why });
      expect(rest).toBe(0);
    });
  });

  it('are told round a cycle as well, as far as it is closed', () => {
    const patch = read(`
modules:
  low: { kind: attenuator }
  high: { kind: attenuator }
  out: { kind: output }
cables: [low.out -> high.in, high.out -> low.in, high.out -> out.left]
`);
    const steps = alongSteps(patch);
    expect(steps).toHaveLength(3);
    const shown = steps.map(({ patch: sofar, cable }) =>
      voltsWords(voltsAt(sofar, cable.to), false),
    );
    // Nothing comes into the first; a circle that nothing feeds has the levels of its outputs' facts.
    expect(shown[0]).toBe('steady 0 V');
    for (const { patch: sofar, cable } of steps) {
      const net = patchLevels(sofar).find(({ net: { jacks } }) =>
        jacks.some((jack) => jackName(jack) === jackName(cable.to)),
      );
      expect(voltsAt(sofar, cable.to)).toMatchObject({ low: net?.low, high: net?.high });
    }
  });

  it('say of a fault what the check says: a switch never raises a gate input', () => {
    const patch = read(`
modules:
  drums: { kind: rhythm, channels: [hit], patterns: { beat: { hit: "x---" } } }
  adapt: { kind: trigger-converter }
  shape: { kind: envelope }
cables: [drums.hit -> adapt.voltage-in, adapt.switch-out -> shape.trigger]
`);
    const step = alongSteps(patch)[1] as AlongStep;
    const volts = voltsAt(step.patch, step.cable.to);
    expect(voltsWords(volts, true)).toBe('steady 0 V');
    expect(triggerWords(volts)).toContain('It never fires: 2.5 V is missing.');
  });

  it('has nothing to say of a patch without a cable', () => {
    expect(alongSteps(read('modules: { out: { kind: output } }'))).toEqual([]);
    expect(firstAtOutput([])).toBeUndefined();
  });

  it('takes sixty modules in a row', () => {
    const patch = read(chained(59));
    const steps = alongSteps(patch);
    expect(steps).toHaveLength(60);
    // Each link is a loaded divider: 5 V x (100 / 101) ^ n.
    const { high } = voltsAt((steps[59] as AlongStep).patch, { module: 'out', jack: 'left' });
    close(high, 5 * (100 / 101) ** 60, { abs: 1e-9, unit: 'V', why: 'closed form; rounding' });
    expect(firstAtOutput(steps)).toBe(60);
  });
});

describe('what is heard so far', () => {
  const step = (patch: Patch, index: number): [AlongStep, number | undefined] => {
    const steps = alongSteps(patch);
    return [steps.at(index) as AlongStep, firstAtOutput(steps)];
  };

  it('says with which cable something first comes to the output', () => {
    const patch = unfolded('closed-hat.yaml').patch;
    const last = patch.cables.length;
    expect(whySilent(...step(patch, 0))).toBe(
      `nothing is plugged into the output yet: cable ${last} is the first that brings something there`,
    );
  });

  it('says what is missing on the way where something is', () => {
    const patch = read(`
modules:
  tone: { kind: oscillator }
  level: { kind: amplifier }
  out: { kind: output }
cables: [tone.sine -> level.in, level.out -> out.left]
`);
    expect(whySilent(...step(patch, -1))).toMatch(/^nothing is plugged into control of level yet/);
  });

  it('says of a patch whose output gets nothing that it never will', () => {
    const patch = read(`
modules: { tone: { kind: oscillator }, level: { kind: amplifier }, out: { kind: output } }
cables: [tone.sine -> level.in]
`);
    expect(whySilent(...step(patch, 0))).toBe(
      'no cable of this patch brings anything to an output',
    );
  });
});
