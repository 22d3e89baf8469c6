// Output jacks with the facts that a rack states, in the engine: levels by Millman's theorem worked by hand; rises by
// that of one resistance and capacitance (ln 9 = 2.197 time constants from 10 to 90 %, a textbook's); widths
// to the sample; each kind against itself without a rack.

import { describe, expect, it } from 'vitest';
import { Renderer } from '../../src/engine/renderer.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { JackRef, Patch } from '../../src/patch/patch.ts';
import { hasOwnLevels } from '../../src/patch/rack/outputs.ts';
import { edgesAtJacks } from '../../src/timing/at-jacks.ts';
import { edgesOf } from '../../src/timing/edges.ts';
import { close } from '../close.ts';
import { drumsOnRack, onRack } from '../electrical/measured.ts';
import { KNOCK } from '../knock.ts';

const RATE = 48_000;

function played(patch: Patch, jacks: readonly string[], blocks: number, passing = true) {
  const probes = jacks.map((name): JackRef => {
    const [module = '', jack = ''] = name.split('.');
    return { module, jack };
  });
  const renderer = new Renderer(patch, {
    sampleRate: RATE,
    edgesOf: (module) => edgesOf(module, { sampleRate: RATE, seed: patch.seed, until: 1 }),
    probes,
    passing,
  });
  const all = probes.map(() => new Float64Array(128 * blocks));
  for (let block = 0; block < blocks; block++) {
    renderer.next();
    for (const [index, volts] of renderer.probes.entries()) all[index]?.set(volts, 128 * block);
  }
  return all;
}

/** What 1 kohm leaves of a level at 100 kohm. */
const LOADED = 100 / 101;

describe('an output jack by its rack', () => {
  it('has its own levels beside those of its neighbours, whatever the level is set to', () => {
    for (const settings of ['', ', level: 9 V']) {
      const patch = drumsOnRack(
        'outputs: { high: 8 V }, clock: { high: 3.3 V, low: 0.1 V }',
        '',
        settings,
      );
      const [clock, hat] = played(patch, ['one.trigger', 'two.trigger'], 60) as [
        Float64Array,
        Float64Array,
      ];
      for (const [volts, low, high] of [
        [clock, 0.1, 3.3],
        [hat, 0, 8],
      ] as const) {
        const levels = [...new Set([...volts].map((one) => Number(one.toFixed(9))))].sort(
          (a, b) => a - b,
        );
        expect(levels).toEqual([low, high].map((one) => Number((one * LOADED).toFixed(9))));
      }
    }
  });

  it('gives a share of what its settings say', () => {
    const patch = drumsOnRack('clock: { high: 60 % }', '', ', level: 9 V');
    const [clock] = played(patch, ['one.trigger'], 1) as [Float64Array];
    close(Math.max(...clock.subarray(0, 100)), 5.4 * LOADED, {
      abs: 1e-9,
      unit: 'V',
      why: 'rounding',
    });
  });

  it('has pulses of its own width, to the sample, and the score shows the same', () => {
    const patch = drumsOnRack('clock: { width: 7 ms, high: 4 V }');
    const [clock] = played(patch, ['one.trigger'], 300) as [Float64Array];
    const changes: [number, boolean][] = [];
    clock.forEach((volts, n) => {
      const isOn = volts > 2;
      if (isOn !== (clock[n - 1] ?? 0) > 2) changes.push([n, isOn]);
    });
    // 120 bpm, sixteenths: 6000 samples apart, 336 long.
    expect(changes.slice(0, 6)).toEqual(
      [0, 6000, 12_000].flatMap((at) => [
        [at, true],
        [at + 336, false],
      ]),
    );
    const [drums] = patch.modules;
    if (drums === undefined) throw new Error('no drums');
    const next = edgesAtJacks(
      drums,
      RATE,
      edgesOf(drums, { sampleRate: RATE, seed: patch.seed, until: 0.8 }),
    );
    const shown: [number, boolean][] = [];
    for (let edge = next(); edge !== undefined; edge = next())
      if (edge.output === 2) {
        shown.push([edge.sample, edge.volts > 2]);
        expect([0, 4]).toContain(edge.volts);
      }
    expect(shown).toEqual(changes.slice(0, shown.length));
    expect(shown.length).toBeGreaterThan(8);
  });

  it('rises from 10 to 90 % in the time that was measured', () => {
    for (const rise of [0.2e-3, 1e-3]) {
      const patch = drumsOnRack(`clock: { rise: ${1000 * rise} ms, width: 20 ms }`);
      const [clock] = played(patch, ['one.trigger'], 10) as [Float64Array];
      const high = 5 * LOADED;
      const crossing = (share: number): number => {
        const after = clock.findIndex((volts) => volts >= share * high);
        const [a = 0, b = 0] = [clock[after - 1], clock[after]];
        return (after - 1 + (share * high - a) / (b - a)) / RATE;
      };
      close(crossing(0.9) - crossing(0.1), rise, {
        abs: 0.25 / RATE,
        unit: 's',
        why: 'a straight line between two samples of a bent curve',
      });
    }
  });

  it('is the same where what rests is passed over', () => {
    const patch = drumsOnRack(
      'clock: { rise: 0.3 ms, high: 4 V, low: 0.2 V }, hat: { width: 2 ms, rise: 0.1 ms }',
    );
    const jacks = ['one.trigger', 'two.trigger', 'out.left', 'out.right'];
    const [passed, ran] = [true, false].map((passing) => played(patch, jacks, 200, passing));
    expect(passed).toEqual(ran);
  });
});

const own = KINDS.filter(({ role, create }) => role === 'circuit' && create !== undefined).flatMap(
  (definition) => {
    const values = Object.fromEntries(
      Object.entries(definition.settings).map(([name, spec]) => [
        name,
        'fallback' in spec ? spec.fallback : [],
      ]),
    );
    return definition
      .jacks(values)
      .flatMap((jack) =>
        jack.direction === 'out' &&
        jack.facts.type === 'voltage' &&
        hasOwnLevels(definition, jack.name)
          ? [[definition.kind, jack.name] as const]
          : [],
      );
  },
);

it('scales what every output with levels of its own gives', () => {
  // Some of each sort, or the walk would be over nothing.
  expect(own.length).toBeGreaterThan(25);
  for (const [kind, jack] of own) {
    const file = kind === 'recording' ? `, file: "${KNOCK}"` : '';
    const withJacks = (jacks: string): Float64Array =>
      played(
        onRack(
          `  one: { kind: ${kind}${file} }\n  out: { kind: output }`,
          `one.${jack} -> out.left`,
          `  one: { kind: ${kind}${jacks} }\n  out: { kind: output }`,
        ),
        ['out.left'],
        20,
      )[0] as Float64Array;
    const plain = withJacks('');
    const half = withJacks(`, jacks: { ${jack}: { high: 50 % } }`);
    const worst = half.reduce(
      (most, volts, n) => Math.max(most, Math.abs(volts - (plain[n] ?? 0) / 2)),
      0,
    );
    // Rounding of 10 V.
    expect({ kind, jack, isHalf: worst < 1e-9 }).toEqual({ kind, jack, isHalf: true });
  }
});
