/** The envelopes that shape how loud a voice is, and their volts through one of its hits. */

import type { Netlist } from '../../electrical/nets.ts';
import { type Prepared, prepared } from '../../engine/prepared.ts';
import { trace } from '../../engine/trace.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { JackRef } from '../../patch/patch.ts';
import type { Point } from '../chart/lines.ts';

/**
 * Finds the envelopes that open what a sound comes through: those at the control inputs of amplifiers and
 * the like, followed back through whatever passes a voltage on.
 */
export function levelEnvelopes({ at }: Netlist, jack: JackRef): readonly string[] {
  const found = new Set<string>();
  const seen = new Set<string>();
  const open: { readonly ref: JackRef; readonly isControl: boolean }[] = [
    { ref: jack, isControl: false },
  ];
  for (let next = open.pop(); next !== undefined; next = open.pop()) {
    const { isControl } = next;
    for (const { module, jack: output } of at(next.ref)?.outputs ?? []) {
      const { name, definition, jacks } = module;
      const key = `${name} ${output.name} ${isControl}`;
      if (seen.has(key)) continue;
      seen.add(key);
      if (isControl && definition.course !== undefined) found.add(name);
      const multiplied = definition.multiplies?.[output.name];
      const passed = definition.carries?.[output.name] ?? multiplied ?? [];
      for (const one of jacks) {
        if (one.direction !== 'in') continue;
        const { name: input } = one;
        const isPassed = passed.includes(input) || (!isControl && one.signal === 'audio');
        const isOpening = multiplied !== undefined && input === 'control';
        if (!isPassed && !isOpening) continue;
        open.push({ ref: { module: name, jack: input }, isControl: isControl || isOpening });
      }
    }
  }
  return [...found];
}

export interface EnvelopeVolts {
  readonly name: string;
  /** V over ms from the hit. */
  readonly points: readonly Point[];
}

/** When a hit is, s from the start of what is played. */
export interface HitTime {
  readonly start: number;
  readonly from: number;
  readonly to: number;
}

/** Time between two points of a line, s: shorter than the shortest attack that an eye would see. */
const FINE_SECONDS = 0.0002;

/**
 * Plays the control path up to the end of a hit, in steps so that other work can come between.
 * @param envelopes by the names of their modules.
 */
export function* envelopeVolts(
  of: Prepared,
  envelopes: readonly string[],
  { start, from, to }: HitTime,
): Generator<undefined, readonly EnvelopeVolts[]> {
  if (envelopes.length === 0) return [];
  const stride = Math.round(FINE_SECONDS * USUAL_RATE);
  const lines = new Map(envelopes.map((name) => [name, [] as Point[]]));
  const first = Math.floor(from * USUAL_RATE);
  const happenings = trace(prepared(of), {
    sampleRate: USUAL_RATE,
    seconds: to,
    onEnvelope: (module, volts, at, count) => {
      const line = lines.get(module);
      if (line === undefined || at + count <= first) return;
      for (let i = 0; i < count; i++) {
        const sample = at + i;
        if (sample >= first && sample % stride === 0)
          line.push([1000 * (sample / USUAL_RATE - start), volts[i] as number]);
      }
    },
  });
  while (!happenings.next().done) yield;
  return [...lines].map(([name, points]) => ({ name, points }));
}
