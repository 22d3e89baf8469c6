/**
 * Segments into loops. Each segment's text holds only names made here (m0, n3, b3) and numbers,
 * never a word from a patch file, and calls every circuit's `run` from a place of its own, so that
 * V8 sees one class at each call and inlines it.
 *
 *   const m2 = M2, b0 = B0, b1 = B1;     // a circuit, and the buffers of two nets
 *   for (let i = 0; i < count; i++) {
 *     const n0 = b0[i];                  // a net worked out by an earlier segment
 *     m2.run(n0, 5);                     // a module: volts at its input jacks
 *     const n1 = m2.out * 0.990099;      // the net it drives, by Millman's theorem
 *     b1[i] = n1;                        // kept for a later segment
 *   }
 */

import { nodeVolts } from '../electrical/node-law.ts';
import type { Circuit } from '../modules/definition.ts';
import type { Plan, PlannedModule, PlannedNet, Segment, Source } from './plan.ts';
import { wiresOf } from './segment-wires.ts';

/** Runs a segment for the first `count` samples of the block. */
export type Loop = (count: number) => void;

/** Where the loops leave the volts that are wanted outside a segment: one buffer a net, or none. */
export type NetBuffers = readonly (Float64Array | undefined)[];

/** The text of a segment's loop; `buffered` says which nets are kept in buffers. */
export function loopText(plan: Plan, segment: Segment, buffered: (net: number) => boolean): string {
  const { brought, late, read, made: completed } = wiresOf(plan, segment);
  const made = completed.filter((net) => read.has(net) || buffered(net));
  const members: [number, PlannedModule][] = [];
  for (let index = segment.from; index < segment.to; index++)
    members.push([index, plan.modules[index] as PlannedModule]);

  const buffers = [...brought, ...made.filter(buffered)];
  const lines: string[] = ['"use strict";'];
  for (const [index] of members) lines.push(`const M${index} = m[${index}];`);
  for (const net of buffers) lines.push(`const B${net} = b[${net}];`);
  for (const net of late) {
    // What the node rests at before anything has run.
    const { law, drivers } = plan.nets[net] as PlannedNet;
    const rest = nodeVolts(
      law,
      drivers.map(() => 0),
    );
    lines.push(`const h${net} = new Float64Array([${literal(rest)}]);`);
  }
  // A name for profiles.
  lines.push(`return function segment${segment.from}(count) {`);
  // Variables of its own: V8 looks those of the function around it up at every sample.
  for (const [index] of members) lines.push(`  const m${index} = M${index};`);
  for (const net of buffers) lines.push(`  const b${net} = B${net};`);
  for (const net of late) lines.push(`  let n${net} = h${net}[0];`);
  lines.push('  for (let i = 0; i < count; i++) {');
  for (const net of brought) lines.push(`    const n${net} = b${net}[i];`);
  for (const [index, { inputs, completes }] of members) {
    lines.push(`    m${index}.run(${inputs.map(sourceText).join(', ')});`);
    for (const net of completes) {
      if (!made.includes(net)) continue;
      const text = netText(plan.nets[net] as PlannedNet);
      lines.push(`    ${late.has(net) ? '' : 'const '}n${net} = ${text};`);
      if (buffered(net)) lines.push(`    b${net}[i] = n${net};`);
    }
  }
  lines.push('  }');
  for (const net of late) lines.push(`  h${net}[0] = n${net};`);
  lines.push('};');
  return lines.join('\n');
}

/** Compiles a segment for given circuits (in the plan's order) and buffers. */
export function compileLoop(
  plan: Plan,
  segment: Segment,
  circuits: readonly Circuit[],
  buffers: NetBuffers,
): Loop {
  const text = loopText(plan, segment, (net) => buffers[net] !== undefined);
  // V8 shares what it learns about types among functions of the same text. The names of the classes
  // keep segments apart that have the same wires but other modules.
  const classes = circuits.slice(segment.from, segment.to).map((c) => c.constructor.name);
  return makerOf(`// ${classes.join(' ')}\n${text}`)(circuits, buffers);
}

type Maker = (circuits: readonly Circuit[], buffers: NetBuffers) => Loop;

/**
 * The makers of loops by their texts, the latest last. All loops of one maker share the machine code that
 * V8 has made of them; without it every render would begin anew at a tenth of the speed.
 */
const makers = new Map<string, Maker>();
/** Some forty kits. */
const MOST_MAKERS = 1500;

function makerOf(text: string): Maker {
  const maker = makers.get(text) ?? (new Function('m', 'b', text) as Maker);
  makers.delete(text);
  makers.set(text, maker);
  if (makers.size > MOST_MAKERS) makers.delete(makers.keys().next().value as string);
  return maker;
}

function sourceText(source: Source): string {
  return source.type === 'net' ? `n${source.net}` : literal(source.volts);
}

/** The node's voltage, with everything constant worked out: see `node-law.ts` for the formula. */
function netText(net: PlannedNet): string {
  const { law, drivers } = net;
  const value = (index: number): string => {
    const driver = drivers[index] as { module: number; field: string };
    if (!FIELD.test(driver.field)) throw new Error(`not a field: ${driver.field}`);
    return `m${driver.module}.${driver.field}`;
  };
  if (law.stiff.length > 0) {
    const sum = law.stiff.map(value).join(' + ');
    return law.stiff.length === 1 ? sum : `(${sum}) / ${law.stiff.length}`;
  }
  const voltages: number[] = [];
  const switches: number[] = [];
  law.outputs.forEach((output, index) => {
    (output.type === 'voltage' ? voltages : switches).push(index);
  });
  /** The law with a fixed set of closed switches. */
  const fixed = (closed: readonly number[]): string => {
    let conductance = law.conductance;
    let current = law.rest;
    for (const index of closed) {
      const output = law.outputs[index] as { conductance: number; saturation: number };
      conductance += output.conductance;
      current += output.conductance * output.saturation;
    }
    if (conductance === 0) return '0';
    const terms = voltages.map((index) => {
      const weight = (law.outputs[index] as { conductance: number }).conductance / conductance;
      return weight === 1 ? value(index) : `${value(index)} * ${literal(weight)}`;
    });
    const constant = current / conductance;
    if (constant !== 0 || terms.length === 0) terms.push(literal(constant));
    return terms.join(' + ');
  };
  // One switch is the usual case; several share a node seldom, each doubling the cases.
  const choose = (left: readonly number[], closed: readonly number[]): string => {
    const [first, ...others] = left;
    if (first === undefined) return fixed(closed);
    return `(${value(first)} !== 0 ? ${choose(others, [...closed, first])} : ${choose(others, closed)})`;
  };
  if (switches.length <= MOST_SWITCHES_BY_CASE) return choose(switches, []);
  const current = [
    literal(law.rest),
    ...voltages.map(
      (i) => `${value(i)} * ${literal((law.outputs[i] as { conductance: number }).conductance)}`,
    ),
    ...switches.map((i) => {
      const output = law.outputs[i] as { conductance: number; saturation: number };
      return `(${value(i)} !== 0 ? ${literal(output.conductance * output.saturation)} : 0)`;
    }),
  ];
  const conductance = [
    literal(law.conductance),
    ...switches.map(
      (i) =>
        `(${value(i)} !== 0 ? ${literal((law.outputs[i] as { conductance: number }).conductance)} : 0)`,
    ),
  ];
  // The smallest number keeps 0 / 0 from arising where only open switches meet.
  return `(${current.join(' + ')}) / (${conductance.join(' + ')} + ${Number.MIN_VALUE})`;
}

const MOST_SWITCHES_BY_CASE = 2;
/** What a jack's `field` may be: text that is safe in the loop. */
const FIELD = /^[a-z][A-Za-z0-9]*(\[\d+\])?$/;

/** A number as JavaScript text that reads back as the same number. */
function literal(value: number): string {
  if (!Number.isFinite(value)) throw new Error(`not a finite number in the plan: ${value}`);
  return value < 0 ? `(${value})` : `${value}`;
}
