// The engine with kinds of the test's own: volts through nets, delays of feedback, independence of
// the file's order. The kinds' circuits are in JavaScript, as a user's own may be, so that the
// engine between them is tested. Expected volts are Millman's theorem by hand.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BLOCK, Renderer } from '../../src/engine/renderer.ts';
import { type Definition, define } from '../../src/modules/definition.ts';
import { closure, pitchVolts, switchTrigger, volts } from '../../src/modules/facts.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { input, moduleOf, output, patchOf, sink } from './build.ts';

/** Gives 0, 1, 2 ... V, a sample each. */
const ramp: Definition = define({
  kind: 'ramp',
  about: 'test',
  role: 'circuit',
  settings: {},
  jacks: () => [output('out', pitchVolts(0, 5))],
  create: (_, site) => {
    let next = 0;
    site.run({
      process(from, to, _inputs, [out]) {
        for (let i = from; i < to; i++) (out as Float64Array)[i] = next++;
      },
    });
  },
  example: '',
});

/** Gives `level` volts through 1 kohm. */
const steady: Definition = define({
  kind: 'steady',
  about: 'test',
  role: 'circuit',
  settings: { level: { type: 'voltage', min: -10, max: 10, fallback: 5, about: 'test' } },
  jacks: () => [output('out')],
  create: ({ level }, site) => {
    site.run({
      process: (from, to, _inputs, [out]) => out?.fill(level, from, to),
      rests: () => true,
    });
  },
  example: '',
});

/** Adds its two inputs; a zero-ohm output, so that what it gives arrives whole. */
const adder: Definition = define({
  kind: 'adder',
  about: 'test',
  role: 'circuit',
  settings: {},
  jacks: () => [input('a'), input('b'), output('out', pitchVolts(-5, 5))],
  create: (_, site) => {
    site.run({
      process(from, to, [a, b], [out]) {
        for (let i = from; i < to; i++)
          (out as Float64Array)[i] = (a?.[i] as number) + (b?.[i] as number);
      },
      rests: () => true,
    });
  },
  example: '',
});

/** A switch that is closed at every odd sample. */
const blinker: Definition = define({
  kind: 'blinker',
  about: 'test',
  role: 'circuit',
  settings: {},
  jacks: () => [output('out', closure())],
  create: (_, site) => {
    let count = 0;
    site.run({
      process(from, to, _inputs, [out]) {
        for (let i = from; i < to; i++) (out as Float64Array)[i] = count++ % 2;
      },
    });
  },
  example: '',
});

/** A switch-trigger input and nothing else. */
const pulledUp: Definition = define({
  kind: 'pulled-up',
  about: 'test',
  role: 'circuit',
  settings: {},
  jacks: () => [input('in', switchTrigger())],
  create: (_, site) => site.run({ process() {} }),
  example: '',
});

function render(
  patch: Patch,
  probes: string[] = [],
  blocks = 1,
): { left: number[]; probed: number[][] } {
  const renderer = new Renderer(patch, {
    sampleRate: 48_000,
    edgesOf: () => () => undefined,
    probes: probes.map((text) => {
      const [module = '', jack = ''] = text.split('.');
      return { module, jack };
    }),
  });
  const left: number[] = [];
  const probed: number[][] = probes.map(() => []);
  for (let i = 0; i < blocks; i++) {
    renderer.next();
    left.push(...(renderer.channels[0] ?? []));
    renderer.probes.forEach((signal, index) => {
      probed[index]?.push(...signal);
    });
  }
  return { left, probed };
}

describe('volts on wires', () => {
  it('gives an input its loaded voltage: 5 V behind 1 kohm into 100 kohm is 4.950495 V', () => {
    const patch = patchOf([moduleOf('s', steady), moduleOf('o', sink)], ['s.out -> o.left']);
    close(render(patch).left[0], (5 * 100) / 101, { abs: 5e-13, unit: 'V', why: 'rounding' });
  });

  it('lets two joined outputs fight: 5 V against 0 V is 2.487562 V (S-net-04)', () => {
    const modules = [
      moduleOf('a', steady),
      moduleOf('b', steady, { level: 0 }),
      moduleOf('o', sink),
    ];
    const patch = patchOf(modules, ['a.out -> o.left', 'b.out -> o.left']);
    close(render(patch).left[0], 2.487562, {
      abs: 5e-7,
      unit: 'V',
      why: 'published to the microvolt',
    });
  });

  it('pulls a switch input down when the switch closes, and lets it rise when it opens', () => {
    const modules = [moduleOf('s', blinker), moduleOf('p', pulledUp), moduleOf('o', sink)];
    const { probed } = render(patchOf(modules, ['s.out -> p.in']), ['p.in', 's.out']);
    // Open: the pull-up's 5 V. Closed: 5 V divided by 10 kohm and 50 ohm.
    expect(probed[0]?.slice(0, 2)).toEqual([5, 5 / 10_000 / (1 / 10_000 + 1 / 50)]);
    expect(probed[1]).toEqual(probed[0]);
  });

  it('works three switches on one net out by the same theorem', () => {
    const modules = ['s1', 's2', 's3'].map((name) => moduleOf(name, blinker));
    const patch = patchOf(
      [...modules, moduleOf('p', pulledUp), moduleOf('o', sink)],
      ['s1.out -> p.in', 's2.out -> p.in', 's3.out -> p.in'],
    );
    const [wire] = render(patch, ['p.in']).probed;
    close(wire?.[0], 5, { abs: 5e-13, unit: 'V', why: 'rounding' });
    close(wire?.[1], 5 / 10_000 / (1 / 10_000 + 3 / 50), {
      abs: 5e-13,
      unit: 'V',
      why: 'rounding',
    });
  });

  it('shows a probed output that no plug is in, and an input at rest', () => {
    const modules = [moduleOf('s', steady), moduleOf('p', pulledUp), moduleOf('o', sink)];
    const { probed } = render(patchOf(modules, []), ['s.out', 'p.in', 'o.left']);
    expect(probed.map((signal) => signal[0])).toEqual([5, 5, 0]);
  });

  it('names the jack when a probe names none of the patch', () => {
    expect(() => render(patchOf([moduleOf('o', sink)], []), ['x.out'])).toThrow('no jack x.out');
  });
});

describe('feedback', () => {
  //  r --> a.a      a.out = r + (a.out one sample ago)
  //        a.b <-- a.out
  it('comes back exactly one sample late', () => {
    const patch = patchOf(
      [moduleOf('r', ramp), moduleOf('a', adder), moduleOf('o', sink)],
      ['r.out -> a.a', 'a.out -> a.b', 'a.out -> o.left'],
    );
    const { left } = render(patch, [], 2);
    // The sum of 0..n, across the border between blocks too.
    expect(left).toEqual(left.map((_, n) => (n * (n + 1)) / 2));
  });

  //  r --> a --> b --> c --> back to a: three modules, one sample.
  it('delays a longer cycle by one sample as a whole', () => {
    const names = ['a', 'b', 'c'];
    const patch = patchOf(
      [moduleOf('r', ramp), ...names.map((n) => moduleOf(n, adder)), moduleOf('o', sink)],
      ['r.out -> a.a', 'a.out -> b.a', 'b.out -> c.a', 'c.out -> a.b', 'c.out -> o.left'],
    );
    const { left } = render(patch, [], 2);
    expect(left).toEqual(left.map((_, n) => (n * (n + 1)) / 2));
  });
});

describe('long chains', () => {
  /** A tree of adders on ramps and steady sources, with a feedback cable. */
  const modules = [
    moduleOf('r', ramp),
    moduleOf('s', steady, { level: 1.25 }),
    ...Array.from({ length: 24 }, (_, i) => moduleOf(`m${i}`, adder)),
    moduleOf('o', sink),
  ];
  const cables = [
    'r.out -> m0.a',
    's.out -> m3.b',
    's.out -> m17.b',
    'm9.out -> m7.b',
    ...Array.from({ length: 23 }, (_, i) => `m${i}.out -> m${i + 1}.a`),
    'm23.out -> o.left',
  ];

  it('pass every sample on', () => {
    const { left } = render(patchOf(modules, cables), [], 2);
    // By hand, a sample at a time: each adder passes its sum on; m7 adds m9's last value.
    const one = 1.25 / 1000 / (1 / 1000 + 2 / 100_000);
    let held = 0;
    const expected = left.map((_, n) => {
      const atSeven = n + one + held;
      held = atSeven;
      return atSeven + one;
    });
    left.forEach((value, n) => {
      close(value, expected[n] as number, {
        abs: 1e-9 * (1 + Math.abs(value)),
        unit: 'V',
        why: 'rounding of two dozen additions',
      });
    });
  });

  it('give the same bytes for every order of modules and cables in the file', () => {
    const expected = render(patchOf(modules, cables)).left;
    fc.assert(
      fc.property(
        fc.shuffledSubarray(modules, { minLength: modules.length }),
        fc.shuffledSubarray(cables, { minLength: cables.length }),
        (m, c) => {
          expect(render(patchOf(m, c)).left).toEqual(expected);
        },
      ),
      runs(10),
    );
  });

  it('stop with an error rather than let a value that is no number out', () => {
    const broken = define({
      kind: 'broken',
      about: 'test',
      role: 'circuit',
      settings: {},
      jacks: () => [output('out', volts(0, 5))],
      create: (_, site) =>
        site.run({ process: (from, to, _inputs, [out]) => out?.fill(Number.NaN, from, to) }),
      example: '',
    });
    const patch = patchOf([moduleOf('b', broken), moduleOf('o', sink)], ['b.out -> o.left']);
    expect(() => render(patch)).toThrow('no number near sample 0');
  });

  it('render whole blocks', () => {
    const patch = patchOf([moduleOf('s', steady), moduleOf('o', sink)], ['s.out -> o.left']);
    expect(render(patch, [], 3).left).toHaveLength(3 * BLOCK);
  });
});
