// A setting that is moved is in the texts afterwards, and nothing else in them has changed.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PatchChange, PatchView } from '../../../src/page/protocol.ts';
import { changed } from '../../../src/page/worker/change.ts';
import { placeOf } from '../../../src/page/worker/place.ts';
import { readFiles } from '../../../src/page/worker/reading.ts';
import { scaleText, scaleValue } from '../../../src/page/worker/scale.ts';
import { viewOf } from '../../../src/page/worker/view.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { parseSetting } from '../../../src/patch/settings.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import type { PlainSpec } from '../../../src/patch/units.ts';
import { runs } from '../../runs.ts';
import { EXAMPLES, filesOf } from './harness.ts';

function patchOf(files: PatchTexts): Patch {
  const { patch, problems } = readFiles(files);
  expect(problems).toEqual([]);
  return patch as Patch;
}

function viewed(files: PatchTexts, patch = patchOf(files)): PatchView {
  return viewOf(patch, files, placeOf(patch, undefined, undefined));
}

function made(files: PatchTexts, change: PatchChange): PatchTexts {
  const result = changed(files, patchOf(files), change);
  expect(result.refused).toBeUndefined();
  if (result.refused !== undefined) throw new Error(result.refused);
  return result.reading.files;
}

/** The comments of a text, in order. */
function commentsOf(text = ''): string[] {
  return [...text.matchAll(/(?:^|\s)#[^\n]*/g)].map(([comment]) => comment.trim());
}

/** Every setting of a patch, by `module.setting`. */
function valuesOf({ modules }: Patch): Record<string, unknown> {
  return Object.fromEntries(
    modules.flatMap(({ name, settings }) =>
      Object.entries(settings).map(([setting, value]) => [`${name}.${setting}`, value]),
    ),
  );
}

const patches = new Map(EXAMPLES.map((main) => [main, patchOf(filesOf(main))]));
const views = new Map(EXAMPLES.map((main) => [main, viewed(filesOf(main), patches.get(main))]));

describe('a setting moved', () => {
  const anyMove = fc.constantFrom(...EXAMPLES).chain((main) => {
    const { modules } = views.get(main) as PatchView;
    const all = modules.flatMap(({ name, settings }) =>
      settings.flatMap(({ name: setting, control }) =>
        control.type === 'text' ? [] : [{ module: name, setting, control }],
      ),
    );
    return fc.record({
      main: fc.constant(main),
      one: fc.constantFrom(...all),
      position: fc.double({ min: 0, max: 1, noNaN: true }),
    });
  });

  it('reads back, and all else is as it was, comments too', () => {
    fc.assert(
      fc.property(anyMove, ({ main, one: { module, setting, control }, position }) => {
        const files = filesOf(main);
        const text =
          control.type === 'number'
            ? scaleText(scaleValue(position, control), control)
            : ((control.type === 'choice'
                ? control.options[Math.floor(position * (control.options.length - 0.001))]
                : undefined) ?? '');
        const before = patches.get(main) as Patch;
        const result = changed(files, before, { type: 'setting', module, setting, text });
        if (result.refused !== undefined) {
          // Some values take a jack away that a plug is in, or contradict another setting: then the
          // words point to a place.
          expect(result.refused).toMatch(/^patches\/.*:\d+:\d+: /);
          return;
        }
        const after = result.reading;
        const spec = before.modules.find(({ name }) => name === module)?.definition.settings[
          setting
        ];
        const key = `${module}.${setting}`;
        const read = parseSetting(text, spec as PlainSpec, setting);
        const value = read.fault === undefined ? read.value : undefined;
        const [was, is] = [valuesOf(before), valuesOf(after.patch as Patch)];
        expect(is[key]).toEqual(value);
        expect({ ...is, [key]: 0 }).toEqual({ ...was, [key]: 0 });
        expect(after.patch?.cables.length).toBe(before.cables.length);
        for (const [name, text] of Object.entries(files.texts)) {
          // Only the main file has changed, and none of its comments is gone.
          if (name !== main) expect(after.files.texts[name]).toBe(text);
          else expect(commentsOf(after.files.texts[name])).toEqual(commentsOf(text));
        }
      }),
      runs(150),
    );
  });

  const PART =
    '# the hat\nmodules:\n  shape: { kind: envelope, decay: 50 ms } # short\n  level: { kind: amplifier }\ncables:\n  - shape.out -> level.control\n';
  const withParts = (parts: string): PatchTexts => ({
    main: 'a.yaml',
    set: [],
    texts: {
      'a.yaml': `title: two hats\nparts:${parts}\nmodules:\n  out: { kind: output }\ncables:\n  - one.level.out -> out.left\n`,
      'hat.yaml': PART,
    },
  });

  it.each([
    [
      'in short',
      '\n  one: hat.yaml # left\n  two: hat.yaml',
      '\n  one: { file: hat.yaml, set: { shape.decay: 80 ms } } # left\n  two: hat.yaml',
    ],
    [
      'with nothing set',
      ' { one: { file: hat.yaml }, two: hat.yaml }',
      ' { one: { file: hat.yaml, set: { shape.decay: 80 ms } }, two: hat.yaml }',
    ],
    [
      'with something else set',
      '\n  one:\n    file: hat.yaml\n    set:\n      shape.attack: 2 ms # slow\n  two: hat.yaml',
      '\n  one:\n    file: hat.yaml\n    set:\n      shape.attack: 2 ms # slow\n      shape.decay: 80 ms\n  two: hat.yaml',
    ],
    [
      'with it set',
      '\n  one: { file: hat.yaml, set: { shape.decay: "1 s" } }\n  two: hat.yaml',
      '\n  one: { file: hat.yaml, set: { shape.decay: 80 ms } }\n  two: hat.yaml',
    ],
    [
      'with an empty set',
      '\n  one:\n    file: hat.yaml\n    set: {}\n  two: hat.yaml',
      '\n  one:\n    file: hat.yaml\n    set: { shape.decay: 80 ms }\n  two: hat.yaml',
    ],
  ])('in a part used %s goes to that use alone', (_, parts, expected) => {
    const files = withParts(parts);
    const after = made(files, {
      type: 'setting',
      module: 'one.shape',
      setting: 'decay',
      text: '80 ms',
    });
    expect(after.texts).toEqual(withParts(expected).texts);
    const decays = patchOf(after).modules.flatMap(({ name, settings }) =>
      name.endsWith('shape') ? [settings.decay] : [],
    );
    expect(decays).toEqual([0.08, 0.05]);
  });

  it('of a row is read as one, and nothing else', () => {
    const files: PatchTexts = {
      main: 'a.yaml',
      set: [],
      texts: {
        'a.yaml':
          'modules:\n  seq: { kind: step-sequencer, rows: { a: [C2, D2] } } # low\n  out: { kind: output }\n',
      },
    };
    const row = (text: string) =>
      changed(files, patchOf(files), { type: 'setting', module: 'seq', setting: 'rows.a', text });
    const good = row('[C2, Eb2, 0.5 V]');
    expect(good.refused ?? good.reading.files.texts['a.yaml']).toBe(
      files.texts['a.yaml']?.replace('[C2, D2]', '[C2, Eb2, 0.5 V]'),
    );
    expect(row('C2, H2').refused).toContain('H2');
    expect(row('[C2], evil: [').refused).toBeDefined();
  });

  describe('of one of several rows', () => {
    const ROWS = '{ pitch: [C2, D2], bright: [0 V, 2 V, 1 V] }';
    const seq = (rows: string): string =>
      `modules:\n  seq: { kind: step-sequencer, rows: ${rows} }\n`;
    const OUT = '  out: { kind: output }\n';
    const alone = (rows = ROWS, set: readonly string[] = []): PatchTexts => ({
      main: 'a.yaml',
      set,
      texts: { 'a.yaml': seq(rows) + OUT },
    });
    const move = (module: string, setting: string, text: string): PatchChange => ({
      type: 'setting',
      module,
      setting,
      text,
    });

    it('is shown as a setting of its own, in its own words', () => {
      const [module] = viewed(alone('{ pitch: [C2,D2], bright: [ 0 V ] }')).modules;
      const shown = module?.settings.filter(({ name }) => name.startsWith('rows'));
      expect(shown?.map(({ name, text, isGiven }) => [name, text, isGiven])).toEqual([
        ['rows.pitch', '[C2, D2]', true],
        ['rows.bright', '[0 V]', true],
      ]);
    });

    it('leaves the others alone, and may be longer or shorter', () => {
      const after = made(alone(), move('seq', 'rows.bright', '1 V, 2 V, 3 V, 4 V'));
      expect(after.texts['a.yaml']).toBe(
        seq('{ pitch: [C2, D2], bright: [1 V, 2 V, 3 V, 4 V] }') + OUT,
      );
    });

    it('goes into the set of a part', () => {
      const main = (set: string): string =>
        `parts: { bass: ${set} }\nmodules:\n${OUT}cables:\n  - bass.seq.pitch -> out.left\n`;
      const files = (set: string): PatchTexts => ({
        main: 'a.yaml',
        set: [],
        texts: { 'a.yaml': main(set), 'b.yaml': seq(ROWS) },
      });
      const after = made(files('b.yaml'), move('bass.seq', 'rows.pitch', '[G1]'));
      expect(after.texts).toEqual(files('{ file: b.yaml, set: { seq.rows.pitch: [G1] } }').texts);
    });

    it('takes the place of what the command line gives for it, and not of what that gives for all', () => {
      const one = alone(ROWS, ['seq.rows.pitch=[E2]', 'seed=a']);
      const after = made(one, move('seq', 'rows.pitch', '[G1]'));
      expect(after.set).toEqual(['seed=a']);
      expect(after.texts['a.yaml']).toContain('pitch: [G1]');
      const all = alone(ROWS, ['seq.rows={ pitch: [E2] }']);
      expect(changed(all, patchOf(all), move('seq', 'rows.pitch', '[G1]')).refused).toContain(
        'the command line gives this',
      );
    });

    it.each([
      ['rows.loud', '[C2]', 'has no setting "rows.loud"'],
      ['rows', '{ pitch: [C2] }', 'has no setting "rows"'],
      ['rows.pitch', '', 'has 0 steps'],
      ['rows.pitch', '[C2], low: [C2]', 'syntax'],
    ])('is refused: %s = %s', (setting, text, why) => {
      const files = alone();
      const { refused } = changed(files, patchOf(files), move('seq', setting, text));
      if (why === 'syntax') expect(refused).toBeDefined();
      else expect(refused).toContain(why);
    });
  });
});

describe('steps clicked', () => {
  const RHYTHM = (patterns: string): PatchTexts => ({
    main: 'a.yaml',
    set: [],
    texts: {
      'a.yaml': `modules:\n  drums:\n    kind: rhythm\n    channels: [hat, kick]\n    patterns:\n${patterns}\n  out: { kind: output }\n`,
    },
  });
  const click = (files: PatchTexts, pattern: string, channel: string, steps: string) =>
    changed(files, patchOf(files), { type: 'steps', module: 'drums', pattern, channel, steps });

  it.each([
    [
      'in short, with their spaces',
      '      groove: { hat: "x-x- | x-x-" } # even',
      '      groove: { hat: "x-x- | xxX-" } # even',
      'groove',
    ],
    [
      'in the long form',
      '      groove:\n        hat: { chance: 70 %, steps: x-x-x-x- } # even',
      '      groove:\n        hat: { chance: 70 %, steps: "x-x-xxX-" } # even',
      'groove',
    ],
    [
      'of another pattern, which stays as it is',
      '      groove: { hat: "x-x- x-x-" }\n      fill: { from: groove }',
      '      groove: { hat: "x-x- x-x-" }\n      fill: { from: groove, hat: "x-x- xxX-" }',
      'fill',
    ],
    [
      'of another pattern in the long form, with what else it says',
      '      groove:\n        hat:\n          steps: "x-x-x-x-"\n          chance: 70 %\n          at:\n            1: { gate: 40 % }\n      fill:\n        from: groove\n        kick: "x---"',
      '      groove:\n        hat:\n          steps: "x-x-x-x-"\n          chance: 70 %\n          at:\n            1: { gate: 40 % }\n      fill:\n        from: groove\n        kick: "x---"\n        hat: { steps: "x-x-xxX-", chance: 70 %, at: { 1: { gate: 40 % } } }',
      'fill',
    ],
    [
      'of a channel that rested',
      '      groove: { kick: "x---" }',
      '      groove: { kick: "x---", hat: "x-x- xxX-" }',
      'groove',
    ],
  ])('%s', (_, patterns, expected, pattern) => {
    const result = click(RHYTHM(patterns), pattern, 'hat', 'x-x-xxX-');
    expect(result.refused ?? result.reading.files.texts).toEqual(RHYTHM(expected).texts);
    if (result.refused !== undefined) return;
    const view = viewed(result.reading.files);
    const shown = view.rhythms[0]?.patterns.find(({ name }) => name === pattern);
    const hat = shown?.channels.find(({ name }) => name === 'hat');
    expect(hat).toMatchObject({ name: 'hat', steps: 'x-x-xxX-', isOwn: true });
  });

  it('win over the command line', () => {
    const files = {
      ...RHYTHM('      groove: { hat: "x-x-" }'),
      set: ['drums.patterns.groove.hat=xxxx'],
    };
    const result = click(files, 'groove', 'hat', 'xXx-');
    expect(result.refused ?? result.reading.files.set).toEqual([]);
  });

  it('are refused where something else decides or they are no steps', () => {
    const files = {
      ...RHYTHM('      groove: { hat: "x-x-" }'),
      set: ['drums.patterns.groove={ hat: xxxx }'],
    };
    expect(click(files, 'groove', 'hat', 'x---').refused).toContain('--set');
    const plain = RHYTHM('      groove: { hat: "x-x-" }');
    expect(click(plain, 'groove', 'hat', 'x-y-').refused).toBe('"y" is not a step');
    expect(click(plain, 'groove', 'snare', 'x---').refused).toContain('snare');
    expect(click(plain, 'fill', 'hat', 'x---').refused).toContain('fill');
    expect(click(plain, 'groove', 'hat', '').refused).toContain('"hat" has no value');
  });

  it('read back in every example', () => {
    const lines = EXAMPLES.flatMap((main) =>
      (views.get(main) as PatchView).rhythms.flatMap(({ module, patterns }) =>
        patterns.flatMap(({ name: pattern, channels }) =>
          channels.map(({ name: channel }) => ({ main, module, pattern, channel })),
        ),
      ),
    );
    const anySteps = fc.array(fc.constantFrom(...'xX-?2'), { minLength: 1, maxLength: 32 });
    fc.assert(
      fc.property(fc.constantFrom(...lines), anySteps, ({ main, ...line }, signs) => {
        const steps = signs.join('');
        const files = filesOf(main);
        const change = { type: 'steps', ...line, steps } as const;
        const result = changed(files, patches.get(main) as Patch, change);
        if (result.refused !== undefined) throw new Error(result.refused);
        const { files: after, patch } = result.reading;
        const shown = viewed(after, patch).rhythms.find(({ module }) => module === line.module);
        const pattern = shown?.patterns.find(({ name }) => name === line.pattern);
        expect(pattern?.channels.find(({ name }) => name === line.channel)?.steps).toBe(steps);
        expect(commentsOf(after.texts[main])).toEqual(commentsOf(files.texts[main]));
      }),
      runs(60),
    );
  });
});
