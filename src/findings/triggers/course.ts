/** The course of an envelope over its triggers, in closed form: the equations of the kind itself. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Course } from '../../modules/definition.ts';
import { exp } from '../../modules/dsp/math.ts';
import { charged, chargeTime } from '../../modules/envelope.ts';
import type { GatePulse } from '../../modules/gates.ts';

/** What one trigger makes of an envelope. */
export interface EnvelopeHit {
  /** Sample at which the trigger is noticed. */
  readonly sample: number;
  /** V that it starts from, and that it gets to. */
  readonly from: number;
  readonly top: number;
  /** s from the trigger to the peak, if the gate is long enough. */
  readonly rise: number;
  /** s from the trigger to the end of its gate; Infinity if that does not end. */
  readonly held: number;
  /** Whether the attack comes to its end. */
  readonly peaks: boolean;
  /** V when the gate ends. */
  readonly atEnd: number;
  /** V when the next trigger is noticed; undefined for the last. */
  readonly atNext: number | undefined;
}

/**
 * Works out what each trigger makes of an envelope.
 * @param triggers as its input notices them.
 */
export function envelopeHits(
  shape: Course,
  triggers: readonly GatePulse[],
): readonly EnvelopeHit[] {
  const hits: EnvelopeHit[] = [];
  let from = 0;
  triggers.forEach(({ start, end }, index) => {
    const next = triggers[index + 1];
    const held = (end - start) / USUAL_RATE;
    const rise = riseTime(shape, from);
    const until = next === undefined ? undefined : (next.start - start) / USUAL_RATE;
    const time = Math.min(
      shape.gated ? held : Number.POSITIVE_INFINITY,
      until ?? Number.POSITIVE_INFINITY,
    );
    const peaks = time >= rise;
    const atNext = until === undefined ? undefined : levelAt(shape, from, held, until);
    hits.push({
      sample: start,
      from,
      top: peaks ? shape.peak : before(shape, from, time),
      rise,
      held,
      peaks,
      atEnd: before(shape, from, held),
      atNext,
    });
    from = atNext ?? 0;
  });
  return hits;
}

/** V at a time after a trigger whose gate lasts `held`. */
export function levelAt(shape: Course, from: number, held: number, time: number): number {
  const { gated, decay } = shape;
  // In trigger mode nothing is let go before the decay has run its time.
  const release = gated ? held : Math.max(held, riseTime(shape, from) + decay);
  if (time <= release) return before(shape, from, time);
  return released(shape, before(shape, from, release), time - release);
}

/** s from a level to the peak. */
function riseTime({ peak, attack, linear, attackConstants }: Course, from: number): number {
  if (linear) return (attack * (peak - from)) / peak;
  return chargeTime(from, aimOf(peak, attackConstants), peak, attack / attackConstants);
}

/** V at a time after a trigger, the gate still being on: attack, decay and sustain. */
function before(shape: Course, from: number, time: number): number {
  const { peak, sustain, attack, decay, linear, attackConstants, fallConstants } = shape;
  const rise = riseTime(shape, from);
  if (time < rise) {
    if (linear) return from + (peak * time) / attack;
    return charged(from, aimOf(peak, attackConstants), attack / attackConstants, time);
  }
  const falling = time - rise;
  if (!linear) return charged(peak, sustain, decay / fallConstants, falling);
  return falling >= decay ? sustain : peak + ((sustain - peak) * falling) / decay;
}

function released(
  { peak, release, linear, fallConstants }: Course,
  from: number,
  time: number,
): number {
  if (!linear) return charged(from, 0, release / fallConstants, time);
  return release > 0 ? Math.max(0, from - (peak * time) / release) : 0;
}

/** Where the attack charges to: it passes the peak after so many time constants from 0 V. */
function aimOf(peak: number, constants: number): number {
  return peak / (1 - exp(-constants));
}
