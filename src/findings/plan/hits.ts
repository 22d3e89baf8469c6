/** The hits of a patch, by sample: those that start a module, and those of a voice. */

import type { Netlist } from '../../electrical/nets.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { strokes } from '../../timing/edges.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import type { Context } from '../finding.ts';
import type { Hits } from './move.ts';

/** Strokes of a rhythm that are looked at. */
const ENOUGH = 20_000;

/** The hits that a trigger input gets, as samples of the strokes behind them; undefined if not known. */
export function hitsAt(module: string, jack: string, { triggers }: Context): Hits | undefined {
  const train = triggers.at({ module, jack });
  if (train === undefined) return undefined;
  const { strokes: meant, pulses } = train;
  return meant === undefined
    ? new Map(pulses.map(({ start, end }) => [start, end - start]))
    : new Map(
        meant.flatMap(({ merged, sample, pulse }): [number, number][] => {
          const made = pulses[pulse ?? -1];
          return merged ? [] : [[sample, made === undefined ? 0 : made.end - made.start]];
        }),
      );
}

/** The modules that a voice is made of: all that its output comes from, but what plays the patterns. */
export function upstream(start: string, netlist: Netlist): ReadonlySet<PatchModule> {
  const found = new Set<PatchModule>();
  const first = netlist.nets
    .flatMap(({ outputs }) => outputs)
    .find(({ module }) => module.name === start)?.module;
  const left = first === undefined ? [] : [first];
  for (let module = left.pop(); module !== undefined; module = left.pop()) {
    if (found.has(module) || module.definition.role === 'score') continue;
    found.add(module);
    for (const { name, direction } of module.jacks) {
      if (direction !== 'in') continue;
      const net = netlist.at({ module: module.name, jack: name });
      for (const { module: next } of net?.outputs ?? []) left.push(next);
    }
  }
  return found;
}

/**
 * The hits of a voice: of all that is started in it, but for what counts its triggers; where nothing is, of
 * the channels that reach it.
 * @returns undefined if they are not known, or there are none.
 */
export function hitsOf(voice: ReadonlySet<PatchModule>, context: Context): Hits | undefined {
  const all = new Map<number, number>();
  for (const { name, definition, jacks } of voice) {
    if (definition.counts !== undefined) continue;
    for (const jack of jacks) {
      if (jack.direction !== 'in' || jack.facts.trigger === undefined) continue;
      if (jack.rise !== undefined && jack.rise !== 'starts') continue;
      for (const [sample, length] of hitsAt(name, jack.name, context) ?? [])
        all.set(sample, length);
    }
  }
  if (all.size === 0) for (const sample of channelHits(voice, context)) all.set(sample, 0);
  return all.size === 0 ? undefined : all;
}

function channelHits(voice: ReadonlySet<PatchModule>, context: Context): readonly number[] {
  return [...voice].flatMap(({ name, jacks }) =>
    jacks.flatMap((jack) =>
      jack.direction !== 'in'
        ? []
        : (context.netlist.at({ module: name, jack: jack.name })?.outputs ?? []).flatMap(
            ({ module, jack: output }) =>
              module.definition.role === 'score' && output.signal === 'gate'
                ? context.triggers
                    .playedBy(module)
                    .part(output.name)
                    .onsets.map((one) => one.sample)
                : [],
          ),
    ),
  );
}

/** The samples of the accented hits of a channel of a rhythm module, and how many hits it has, once through the song. */
export function accentsOf(
  module: PatchModule,
  channel: string,
  { triggers, patch }: Context,
): { readonly accented: readonly number[]; readonly hits: number } {
  const settings = rhythmSettings(module.settings);
  const index = settings.channels.findIndex(({ name }) => name === channel);
  const { seconds, onsets } = triggers.playedBy(module).part(channel);
  const next = strokes(settings, {
    sampleRate: USUAL_RATE,
    seed: patch.seed,
    module: module.name,
    until: seconds,
  });
  const accented: number[] = [];
  for (let count = 0, stroke = next(); stroke && count < ENOUGH; count++, stroke = next())
    if (stroke.channel === index && stroke.accent) accented.push(stroke.sample);
  return { accented, hits: onsets.length };
}

/** How many of one are not in the other. */
export function missing(from: Hits, others: Hits): number {
  let count = 0;
  for (const sample of from.keys()) if (!others.has(sample)) count += 1;
  return count;
}

/** How many both have with gates of another length. */
export function otherwiseLong(one: Hits, other: Hits): number {
  let count = 0;
  for (const [sample, length] of one) if ((other.get(sample) ?? length) !== length) count += 1;
  return count;
}

/** How many both have. */
export function shared(one: Hits, other: Hits): number {
  return one.size - missing(one, other);
}
