/**
 * What separates hits that run into each other. A trigger input can tell two hits apart only if its wire does:
 * a gate must end before the next begins, and its fall must be over by then.
 */

import type { Span } from '../../modules/definition.ts';
import { pulseContextOf } from '../context.ts';
import type { Context, Mend } from '../finding.ts';
import { inTime } from '../spoken.ts';
import { trainsAtWorst } from '../triggers/at-worst.ts';
import { comparatorFor, slowEdgeAt } from '../triggers/slow-edge.ts';
import type { MatchedStroke } from '../triggers/strokes.ts';
import type { Train } from '../triggers/triggers.ts';
import { drivers } from '../words.ts';
import { commonGate, fixedBehind, pulsesBehind, setGate } from './rhythm-gate.ts';
import { asAdvice, withSetting } from './what-helps.ts';

/** s; no gate is made shorter, since inputs want pulses of a millisecond. */
const SHORTEST = 0.001;

interface Wanted {
  /** s from a hit to the next, the shortest. */
  readonly spacing: number;
  /** Share of it that the gate is to last at most. */
  readonly share: number;
  /** Which strokes count. */
  readonly counts: (stroke: MatchedStroke) => boolean;
}

/**
 * What to do about hits that run into each other, the cheapest first.
 * @param more what else helps.
 */
export function adviceApart(
  train: Train,
  wanted: Wanted,
  context: Context,
  ...more: readonly string[]
): string {
  const { net, terminal } = train;
  const { netlist } = context;
  const apart = inTime(wanted.spacing);
  const { shaper } = pulsesBehind(net, netlist.at);
  const fixed = fixedBehind(net, netlist);
  const rhythm = commonGate(net, netlist);
  const ways: string[] = [];
  if (fixed !== undefined)
    ways.push(
      `keep the hits further apart than the pulses of ${drivers(fixed)} are long: no setting makes them shorter`,
    );
  else if (shaper !== undefined)
    ways.push(`set ${shaper.setting} of ${shaper.module.name} to less than ${apart}`);
  else if (!isSlow(train)) ways.push(`make the gate shorter than ${apart}`);
  else if (rhythm !== undefined) {
    const gate = gateApart(train, wanted, context);
    if (gate !== undefined)
      ways.push(
        `set gate of ${rhythm.name} to ${inTime(gate)} or less, so that its slow fall is over before the next hit`,
      );
  } else ways.push(`make the gate much shorter than ${apart}: its fall takes time too`);

  const joins = net.outputs.some(({ module, jack }) => module.definition.gates?.(jack.name)?.joins);
  if (fixed === undefined && (joins || net.outputs.length > 1))
    ways.push(`put a short pulse module behind each of what ${drivers(net)} is made of`);
  const jack = { module: terminal.module.name, jack: terminal.jack.name };
  const slow = slowEdgeAt(jack, context);
  if (slow?.isApart) ways.push(comparatorFor(slow, jack, context).replace(/^P/, 'p'));
  return asAdvice(
    [...ways, ...more],
    `Play it slower, or leave hits out: ${drivers(net)} takes longer to fall than there is between them.`,
  );
}

/** Edits that make the rhythm's gate so short that the hits are apart. */
export function keptApart(train: Train, wanted: Wanted, context: Context): Mend | undefined {
  const gate = isSlow(train) ? gateApart(train, wanted, context) : longestGate(wanted);
  return setGate(train.net, gate ?? longestGate(wanted), context);
}

/** Whether the edges on its wire are slow. */
function isSlow({ net }: Train): boolean {
  return net.outputs.some(({ jack }) => (jack.facts.stage?.rise ?? 0) > 0);
}

/** s, in whole milliseconds where there are any. */
function longestGate({ spacing, share }: Wanted): number {
  return inMilliseconds(spacing * share);
}

function inMilliseconds(seconds: number): number {
  return seconds > 2 * SHORTEST ? Math.floor(seconds * 1000 + 1e-6) / 1000 : seconds;
}

/**
 * A gate of its rhythm with which the input notices each stroke by itself, tried on a patch that has it.
 * @returns s; undefined where even the shortest is too long, or the rise comes to nothing in it.
 */
function gateApart({ net, terminal }: Train, wanted: Wanted, context: Context): number | undefined {
  const { patch, netlist, tolerance } = context;
  const module = commonGate(net, netlist);
  if (module === undefined) return undefined;
  const jack = { module: terminal.module.name, jack: terminal.jack.name };
  let found: number | undefined;
  for (let gate = longestGate(wanted); gate >= SHORTEST; gate = inMilliseconds(0.9 * gate)) {
    const span: Span = { unit: 'seconds', value: gate };
    const tried = pulseContextOf(withSetting(patch, module, 'gate', span), tolerance);
    const now = tried.triggers.at(jack);
    const isLong = now?.pulses.every(({ start, end }) => end - start >= now.needed) === true;
    if (!isLong) return found;
    const isApart = [now, ...trainsAtWorst(now, 'long', tried)].every(
      ({ strokes }) => strokes?.every((one) => !(one.merged && wanted.counts(one))) === true,
    );
    // One step more, so that there is some margin.
    if (isApart && found !== undefined) return gate;
    if (isApart) found = gate;
  }
  return found;
}
