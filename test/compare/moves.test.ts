// Moves from one patch to another, made again by a test that knows nothing of how they were found.

import { describe, expect, it } from 'vitest';
import { moveWords } from '../../src/compare/move-words.ts';
import { type Move, movesBetween } from '../../src/compare/moves.ts';
import { readVariant } from '../../src/compare/variant.ts';
import { jackName, type Patch } from '../../src/patch/patch.ts';
import { isScoreSpec } from '../../src/patch/settings.ts';
import { example, SHIPPED } from '../patch-of.ts';
import { written } from './written.ts';

const EXAMPLES = SHIPPED.map((name) => example(name));

const cablesOf = ({ cables }: Patch): string[] =>
  cables.map(({ from, to }) => `${jackName(from)} -> ${jackName(to)}`).sort();

/** Module, kind. */
const modulesOf = ({ modules }: Patch): string[] =>
  modules.map(({ name, definition }) => `${name} ${definition.kind}`).sort();

/** Does what the moves say to the cables and modules of a patch, as hands would. */
function moved(patch: Patch, moves: readonly Move[]): { cables: string[]; modules: string[] } {
  const of = (type: Move['type']): readonly Move[] => moves.filter((move) => move.type === type);
  const pulled = new Set(of('pull').map(({ what }) => what));
  const called = new Map(of('reuse').map(({ what, from }) => [from as string, what]));
  const out = new Set(of('take-out').map(({ what }) => what));
  const renamed = (name: string): string => called.get(name) ?? name;
  const cables = patch.cables
    .filter(({ from, to }) => !pulled.has(`${jackName(from)} -> ${jackName(to)}`))
    .map(({ from, to }) => {
      if (out.has(from.module) || out.has(to.module))
        expect.fail(
          `a cable stays in a module that is taken out: ${jackName(from)}, ${jackName(to)}`,
        );
      return `${renamed(from.module)}.${from.jack} -> ${renamed(to.module)}.${to.jack}`;
    });
  return {
    cables: [...cables, ...of('plug').map(({ what }) => what)].sort(),
    modules: [
      ...patch.modules
        .filter(({ name }) => !out.has(name))
        .map(({ name, definition }) => `${renamed(name)} ${definition.kind}`),
      ...of('bring').map(({ what, to }) => `${what} ${to}`),
    ].sort(),
  };
}

describe('movesBetween', () => {
  it.each(EXAMPLES)('from $file leads to every other example', (before) => {
    for (const after of EXAMPLES) {
      const moves = movesBetween(before, after);
      if (before === after) expect(moves).toEqual([]);
      expect(moved(before, moves)).toEqual({
        cables: cablesOf(after),
        modules: modulesOf(after),
      });
      // Every setting that a module is left with by the moves is that of the other patch.
      const turned = new Set(
        moves.filter(({ type }) => ['turn', 'choose'].includes(type)).map(({ what }) => what),
      );
      const reused = new Map(
        moves.filter(({ type }) => type === 'reuse').map(({ what, from }) => [what, from]),
      );
      const fresh = new Set(moves.filter(({ type }) => type === 'bring').map(({ what }) => what));
      const [left, wanted] = [new Map<string, unknown>(), new Map<string, unknown>()];
      for (const module of after.modules) {
        const was = before.modules.find(
          ({ name, definition }) =>
            !fresh.has(module.name) &&
            definition === module.definition &&
            name === (reused.get(module.name) ?? module.name),
        );
        for (const [name, spec] of Object.entries(module.definition.settings)) {
          const setting = `${module.name}.${name}`;
          if (isScoreSpec(spec) || turned.has(setting)) continue;
          left.set(setting, was ? was.settings[name] : spec.fallback);
          wanted.set(setting, module.settings[name]);
        }
      }
      expect(left).toEqual(wanted);
    }
  });

  const patch = (modules: string, cables: string, more = ''): Patch =>
    written(`${more}modules:\n${modules}cables: [${cables}]\n`).patch;

  it('tells a dial from what it was to what it is, in the words of the files', () => {
    const [a, b] = ['20 ms', '0.06 s'].map((decay) =>
      patch(
        `  e: { kind: envelope, decay: ${decay} }\n  out: { kind: output }\n`,
        'e.out -> out.left',
      ),
    ) as [Patch, Patch];
    expect(movesBetween(a, b)).toEqual([
      { type: 'turn', what: 'e.decay', from: '20 ms', to: '0.06 s' },
    ]);
  });

  it('has a multiple chosen by its jacks, which no hand turns', () => {
    const of = (jacks: string): Patch =>
      patch(`  m: { kind: multiple${jacks} }\n  out: { kind: output }\n`, 'm.out-1 -> out.left');
    const [move, ...others] = movesBetween(of(''), of(', jacks: 6'));
    expect({ move, others }).toEqual({
      move: { type: 'choose', what: 'm.jacks', from: '4', to: '6' },
      others: [],
    });
    expect(moveWords(move as Move)).toEqual(['choose', 'm.jacks', '6, not 4']);
  });

  it('uses a module of the same kind again, under its new name', () => {
    const a = patch('  n: { kind: noise }\n  out: { kind: output }\n', 'n.white -> out.left');
    const b = patch('  hiss: { kind: noise }\n  out: { kind: output }\n', 'hiss.white -> out.left');
    expect(movesBetween(a, b)).toEqual([{ type: 'reuse', what: 'hiss', from: 'n' }]);
  });

  it('tells the channels of a rhythm, a silent one too', () => {
    const of = (channels: string): Patch =>
      patch(
        `  d: { kind: rhythm, channels: [${channels}], patterns: { p: { a: "x" } } }\n  out: { kind: output }\n`,
        '',
      );
    expect(movesBetween(of('a'), of('a, b'))).toEqual([
      { type: 'write', what: 'd.channels', from: 'a', to: 'a, b' },
    ]);
  });

  it('tells lines of patterns, the song and the seed', () => {
    const rhythm = (lines: string, more: string): Patch =>
      patch(
        `  d: { kind: rhythm, channels: [a, b], patterns: { p: { ${lines} } } }\n  out: { kind: output }\n`,
        '',
        more,
      );
    const a = rhythm('a: "x-x-"', 'seed: one\n');
    const b = rhythm('a: { steps: "x-xx", gate: 2 ms }, b: "x"', 'seed: two\n');
    expect(movesBetween(a, b)).toEqual([
      { type: 'write', what: 'd.patterns.p.a', from: '"x-x-"', to: '"x-xx", gate: 2 ms' },
      { type: 'write', what: 'd.patterns.p.b', to: '"x"' },
      { type: 'write', what: 'seed', from: 'one', to: 'two' },
    ]);
  });

  const cabinet = (corner: string, out: string): string => `units:
  hiss: { kind: noise }
  bright:
    kind: filter
    count: 2
    dials: { cutoff: { 0: 20 Hz, 5: ${corner}, 10: 18 kHz } }
    jacks: { high: { resistance: ${out} } }
  dull: { kind: filter, jacks: { high: { resistance: 5 kohm } } }
  out: { kind: output }
`;
  const racked = (rack: string, filter: string): Patch => {
    const main = `rack: ${rack}
modules: { n: { kind: noise }, f: { kind: filter, ${filter} }, out: { kind: output } }
cables: [n.white -> f.in, f.high -> out.left]
`;
    const texts = {
      'm.yaml': main,
      'racks/a.yaml': cabinet('640 Hz', '1 kohm'),
      'racks/b.yaml': cabinet('900 Hz', '4 kohm'),
    };
    const { patch, problems } = readVariant({ main: 'm.yaml', texts, set: [] }, []);
    if (patch === undefined) throw new Error(JSON.stringify(problems));
    return patch;
  };

  it('tells positions of dials beside the values, as the file gives them or the rack has them', () => {
    const from = racked('racks/a.yaml', 'unit: bright, cutoff: dial 5');
    // Halfway from dial 5 to 10 in ratio: the square root of 640 Hz times 18 kHz.
    const to = racked('racks/a.yaml', 'unit: bright, cutoff: 3394 Hz');
    const [move, ...others] = movesBetween(from, to);
    expect(others).toEqual([]);
    expect(move).toEqual({
      type: 'turn',
      what: 'f.cutoff',
      ...{ from: '640 Hz', fromDial: 'dial 5', to: '3394 Hz', toDial: 'dial 7.5' },
    });
    expect(moveWords(move as Move)[2]).toBe('from 640 Hz (dial 5) to 3394 Hz (dial 7.5)');
  });

  it('tells another rack, and another unit of it, which sound otherwise at the same settings', () => {
    const a = racked('racks/a.yaml', 'unit: bright, cutoff: 1 kHz');
    const b = racked('racks/b.yaml', 'unit: bright, cutoff: 1 kHz');
    const dull = racked('racks/a.yaml', 'unit: dull, cutoff: 1 kHz');
    expect(movesBetween(a, b)).toEqual([
      { type: 'write', what: 'rack', from: 'racks/a.yaml', to: 'racks/b.yaml' },
    ]);
    expect(movesBetween(a, dull)).toEqual([
      { type: 'write', what: 'f.unit', from: 'bright', to: 'dull' },
    ]);
  });

  it('says of a value with more digits than it shows that it is that of a setting left unset', () => {
    const tuned = (settings: string): Patch =>
      patch(
        `  o: { kind: oscillator${settings} }\n  out: { kind: output }\n`,
        'o.sine -> out.left',
      );
    const [move] = movesBetween(tuned(', at-zero: 110 Hz'), tuned(''));
    // C2 in equal temperament at A4 = 440 Hz: 440 Hz / 2^(33/12) = 65.40639... Hz (closed form).
    expect(moveWords(move as Move)[2]).toBe('from 110 Hz to 65.41 Hz (unset)');
    const [plain] = movesBetween(tuned(', width: 20 %'), tuned(''));
    expect(moveWords(plain as Move)[2]).toBe('from 20 % to 50 %');
  });
});
