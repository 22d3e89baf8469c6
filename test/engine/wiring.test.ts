// Volts of all sorts of nets, over time, against the law that `electrical` solves the same nets by, and that
// against the sum over branches (Millman's theorem; see electrical/millman).

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { netlist } from '../../src/electrical/nets.ts';
import { nodeVolts } from '../../src/electrical/node-law.ts';
import { plan } from '../../src/engine/plan.ts';
import { BLOCK, Renderer } from '../../src/engine/renderer.ts';
import { type Definition, define } from '../../src/modules/definition.ts';
import type { InputFacts, OutputFacts } from '../../src/modules/facts.ts';
import { close } from '../close.ts';
import { solveNode } from '../electrical/millman.ts';
import { runs } from '../runs.ts';
import { input, moduleOf, output, patchOf, sink } from './build.ts';

/** Gives other volts, or opens and closes, every few samples. */
function source(facts: OutputFacts, course: readonly number[], every: number): Definition {
  return define({
    kind: 'source',
    about: 'test',
    role: 'circuit',
    settings: {},
    jacks: () => [output('out', facts)],
    create: (_, site) => {
      let at = 0;
      site.run({
        process(from, to, _inputs, [out]) {
          for (let i = from; i < to; i++) (out as Float64Array)[i] = valueAt(course, every, at++);
        },
      });
    },
    example: '',
  });
}

const valueAt = (course: readonly number[], every: number, sample: number): number =>
  course[Math.floor(sample / every) % course.length] as number;

function reader(facts: InputFacts): Definition {
  return define({
    kind: 'reader',
    about: 'test',
    role: 'circuit',
    settings: {},
    jacks: () => [input('in', facts)],
    create: (_, site) => site.run({ process() {} }),
    example: '',
  });
}

const ohms = fc.integer({ min: 1, max: 200 }).map((n) => n * 500);
const voltage = fc.record({
  facts: fc.record({
    type: fc.constant('voltage' as const),
    low: fc.constant(-5),
    high: fc.constant(5),
    ohms: fc.oneof({ weight: 1, arbitrary: fc.constant(0) }, { weight: 5, arbitrary: ohms }),
  }),
  course: fc.array(fc.integer({ min: -10, max: 10 }), { minLength: 1, maxLength: 5 }),
  every: fc.integer({ min: 1, max: 50 }),
});
const contact = fc.record({
  facts: fc.record({
    type: fc.constant('switch' as const),
    saturation: fc.constantFrom(0, 0.2),
    ohms: fc.constantFrom(50, 100),
  }),
  course: fc.array(fc.constantFrom(0, 1), { minLength: 1, maxLength: 5 }),
  every: fc.integer({ min: 1, max: 50 }),
});
const inputFacts = fc.record({ ohms, rest: fc.constantFrom(0, 0, 5), safe: fc.constant(12) });

describe('a net', () => {
  it('has the volts of its law at every sample, whatever is on it', () => {
    fc.assert(
      fc.property(
        fc.array(fc.oneof(voltage, contact), { minLength: 1, maxLength: 5 }),
        fc.array(inputFacts, { minLength: 1, maxLength: 3 }),
        (sources, inputs) => {
          const modules = [
            ...sources.map(({ facts, course, every }, k) =>
              moduleOf(`s${k}`, source(facts, course, every)),
            ),
            ...inputs.map((facts, k) => moduleOf(`r${k}`, reader(facts))),
            moduleOf('o', sink),
          ];
          const patch = patchOf(modules, [
            ...sources.map((_, k) => `s${k}.out -> r0.in`),
            ...inputs.slice(1).map((_, k) => `s0.out -> r${k + 1}.in`),
          ]);
          const renderer = new Renderer(patch, {
            sampleRate: 48_000,
            edgesOf: () => () => undefined,
            probes: [{ module: 'r0', jack: 'in' }],
          });
          const { law } = plan(patch, netlist(patch)).nets[0] as ReturnType<
            typeof plan
          >['nets'][number];
          for (let block = 0; block < 2; block++) {
            renderer.next();
            renderer.probes[0]?.forEach((volts, i) => {
              const values = sources.map(({ course, every }) =>
                valueAt(course, every, block * BLOCK + i),
              );
              const wanted = nodeVolts(law, values);
              close(volts, wanted, { abs: 1e-11, unit: 'V', why: 'other brackets, up to 15 V' });
              const node = solveNode([
                ...inputs.map(({ rest, ohms: r }) => ({ volts: rest, ohms: r })),
                ...sources.flatMap(({ facts }, k) => {
                  const value = values[k] as number;
                  if (facts.type === 'voltage') return [{ volts: value, ohms: facts.ohms }];
                  return value === 1 ? [{ volts: facts.saturation, ohms: facts.ohms }] : [];
                }),
              ]);
              // Two zero-ohm outputs that differ have no solution; the engine takes their mean.
              if (node.state === 'solved')
                close(volts, node.volts, { abs: 1e-11, unit: 'V', why: 'another order of sums' });
            });
          }
        },
      ),
      runs(100),
    );
  });

  it('of a single output is that output by its weight, and costs no circuit', () => {
    const facts: OutputFacts = { type: 'voltage', low: -5, high: 5, ohms: 1000 };
    const patch = patchOf(
      [moduleOf('s', source(facts, [3], 1)), moduleOf('o', sink)],
      ['s.out -> o.left'],
    );
    const renderer = new Renderer(patch, { sampleRate: 48_000, edgesOf: () => () => undefined });
    renderer.next();
    // The source and the output.
    expect(renderer.rested.of).toBe(2);
    close(renderer.channels[0]?.[5] as number, 300 / 101, {
      abs: 1e-12,
      unit: 'V',
      why: 'rounding',
    });
  });
});
