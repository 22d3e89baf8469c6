/** Rhythm sequencers that follow a clock which gives them no pulses, or hardly any: they stand. */

import type { Net, Netlist } from '../../electrical/nets.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { CLOCK_IN, FOLLOWED, isFollowing, rhythmSettings } from '../../timing/rhythm.ts';
import type { Train } from './triggers.ts';

export interface StalledRhythm {
  /** Pulses that came in what was looked at, and those that are due at the tempo that is set. */
  readonly got: number;
  readonly due: number;
  /** All the rhythms that follow one another in a ring, none of which begins; empty where it is none. */
  readonly ring: readonly PatchModule[];
}

/** With so many pulses there is a tempo. */
const ENOUGH = 3;

/** Tells whether a rhythm stands for want of pulses, and not because those before it do. */
export function stalledRhythm(
  module: PatchModule,
  { pulses, span }: Train,
  patch: Patch,
  netlist: Netlist,
): StalledRhythm | undefined {
  if (pulses.length >= ENOUGH) return undefined;
  const leaders = followedBy(module, patch, netlist);
  const ring = leaders.filter((one) => followedBy(one, patch, netlist).includes(one));
  const isInRing = ring.includes(module);
  // What follows another rhythm has its pulses from that: its own finding, or that of what leads it.
  if (!isInRing && leaders.length > 0) return undefined;
  if (isInRing && pulses.length > 0) return undefined;
  const { set, perQuarter } = asSet(module);
  const due = Math.floor((span.seconds * set * perQuarter) / 60);
  if (due < ENOUGH * (pulses.length + 1)) return undefined;
  return { got: pulses.length, due, ring: isInRing ? ring : [] };
}

/** The tempo that a rhythm is set to, bpm, and pulses per quarter at it, as its song begins. */
export function asSet({ settings }: PatchModule): { set: number; perQuarter: number } {
  const { follows, song, patterns, tempo } = rhythmSettings(settings);
  const [entry] = song;
  const pattern = entry && patterns[entry.pattern];
  return {
    set: entry?.tempo ?? pattern?.tempo ?? tempo,
    perQuarter: follows.count * (follows.per === 'step' ? (pattern?.stepsPerQuarter ?? 1) : 1),
  };
}

/** The rhythms whose pulses a rhythm's clock comes of, itself among them if it is led round to itself. */
function followedBy(module: PatchModule, patch: Patch, netlist: Netlist): readonly PatchModule[] {
  const found = new Set<PatchModule>();
  const seen = new Set<Net>();
  const left = [netlist.at({ module: module.name, jack: CLOCK_IN })];
  for (let net = left.pop(); left.length > 0 || net !== undefined; net = left.pop()) {
    if (net === undefined || seen.has(net)) continue;
    seen.add(net);
    for (const { module: from } of net.outputs) {
      if (from.definition.role === 'score') found.add(from);
      if (from.definition.role === 'score' && !isFollowing(patch, from)) continue;
      for (const { name, direction } of from.jacks)
        if (direction === 'in' && (from.definition.role !== 'score' || isFollowed(name)))
          left.push(netlist.at({ module: from.name, jack: name }));
    }
  }
  return patch.modules.filter((one) => found.has(one));
}

function isFollowed(jack: string): boolean {
  return (FOLLOWED as readonly string[]).includes(jack);
}
