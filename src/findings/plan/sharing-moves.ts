/** Moves that let one module do the work of two: where both get the same, and where their gates coincide. */

import type { Net, Terminal } from '../../electrical/nets.ts';
import type { OutputJack } from '../../modules/definition.ts';
import { recording } from '../../modules/recording.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { isAmplifier } from '../amplifiers.ts';
import type { Context } from '../finding.ts';
import { copiedAt } from '../mend/rhythm-gate.ts';
import { drivers, listed } from '../words.ts';
import { hitsAt, missing, otherwiseLong, shared, upstream } from './hits.ts';
import { type Cost, FREE, type Hits, type Joining, NONE, type PlanMove } from './move.ts';
import { alsoInto, cableFrom, moduleNamed, without } from './replug.ts';
import { triggerType } from './trigger-type.ts';
import type { PlannedVoice } from './voices.ts';

export function sharingMoves(
  context: Context,
  voices: readonly PlannedVoice[],
): readonly PlanMove[] {
  const { modules } = context.patch;
  return modules.flatMap((leader) =>
    modules.flatMap((follower) => {
      if (leader === follower || leader.definition !== follower.definition) return [];
      // Of converters before envelopes it is the envelopes that share: see `following-moves`.
      if (firesOne(follower, context)) return [];
      const price = priceOf(leader, follower, context, voices);
      return price === undefined ? [] : [moveFor(leader, follower, price, context)];
    }),
  );
}

/** Whether all that a converter does is to fire one envelope. */
function firesOne({ name, definition, jacks }: PatchModule, { netlist }: Context): boolean {
  const outputs = jacks.filter(({ direction }) => direction === 'out');
  const plugged = outputs.flatMap((jack) => netlist.at({ module: name, jack: jack.name }) ?? []);
  const [net, ...others] = plugged;
  if (net === undefined || others.length > 0) return false;
  if (!outputs.every((jack) => definition.gates?.(jack.name)?.isCopy)) return false;
  const [fired, ...more] = net.inputs;
  return (
    fired !== undefined && more.length === 0 && triggerType(fired.module.definition) !== undefined
  );
}

interface SharingPrice {
  readonly cost: Cost;
  readonly text: string | undefined;
  /** See {@link PlanMove.farness}. */
  readonly farness: number;
  readonly joins?: Joining;
  /** The hits that it gets in place of its own. */
  readonly instead?: Hits;
}

/** What it costs that one module follows another; undefined where that is not known, or makes no sense. */
function priceOf(
  leader: PatchModule,
  follower: PatchModule,
  context: Context,
  voices: readonly PlannedVoice[],
): SharingPrice | undefined {
  const { definition } = leader;
  if (definition.role !== 'circuit') return undefined;
  const inputs = pluggedInputs(follower, context);
  const own = pluggedInputs(leader, context);
  if (inputs.join() !== own.join()) return undefined;
  if (inputs.length === 0) return ofSources(leader, follower, voices, context);
  const at = (module: PatchModule, jack: string) =>
    context.netlist.at({ module: module.name, jack });
  const differ = inputs.filter((jack) => at(leader, jack) !== at(follower, jack));
  if (differ.length === 0 && isAlike(leader, follower))
    return definition.isSeeded
      ? ofSources(leader, follower, voices, context)
      : { cost: FREE, text: undefined, farness: 0 };
  // Two that get the same and are set otherwise: of envelopes the shape is what is lost, of recordings the sound.
  if (differ.length === 0 && !isOtherwiseUseful(leader)) return undefined;
  const [jack, ...others] = differ.length === 0 ? ['trigger'] : differ;
  if (jack === undefined || others.length > 0 || isAccumulating(leader)) return undefined;
  const [hits, instead] = [follower, leader].map((one) => hitsAt(one.name, jack, context));
  if (!isOtherwiseUseful(leader) && !isAlike(leader, follower)) return undefined;
  if (hits === undefined || instead === undefined) {
    // Alike, and behind sources that could be one.
    if (!isAlike(leader, follower)) return undefined;
    const [its, theirs] = [follower, leader].map((one) => soleSource(at(one, jack), context));
    if (its === undefined || theirs === undefined || its.jack.name !== theirs.jack.name)
      return undefined;
    if (its.module.definition !== theirs.module.definition) return undefined;
    return ofSources(theirs.module, its.module, voices, context, follower);
  }
  return ofGates(leader, follower, [jack, jack], hits, instead, context);
}

/** Whether one that is set otherwise still does for another, at a price: an envelope, or a recording that is struck. */
function isOtherwiseUseful({ definition }: PatchModule): boolean {
  return definition.course !== undefined || definition.kind === recording.kind;
}

/** What alone drives a net, and makes its sound of nothing. */
function soleSource(net: Net | undefined, context: Context): Terminal<OutputJack> | undefined {
  const [output, ...others] = net?.outputs ?? [];
  if (output?.module.definition.role !== 'circuit' || others.length > 0) return undefined;
  return pluggedInputs(output.module, context).length === 0 ? output : undefined;
}

/** Whether a module's response to a pulse depends on earlier pulses. */
function isAccumulating({ definition }: PatchModule): boolean {
  return definition.counts !== undefined || definition.recounts === true;
}

/** What it costs by the gates at one input, and by how the two are set. */
export function ofGates(
  leader: PatchModule,
  follower: PatchModule,
  [own, other]: readonly [leader: string, follower: string],
  hits: Hits,
  instead: Hits,
  context: Context,
  alike = isAlike(leader, follower),
): SharingPrice {
  const lost = missing(hits, instead);
  const added = missing(instead, hits);
  const kept = shared(hits, instead);
  const altered = alike ? otherwiseLong(hits, instead) : kept;
  const [its, theirs] = (
    [
      [follower, other],
      [leader, own],
    ] as const
  ).map(([{ name }, jack]) => {
    const net = context.netlist.at({ module: name, jack });
    return net === undefined ? name : originOf(net, context);
  });
  const words = [
    lost > 0 &&
      `${lost} of the ${counted(hits.size, 'hit')} of ${its} ${lost === 1 ? 'is' : 'are'} lost`,
    added > 0 &&
      `${counted(added, 'hit')} of ${theirs} where ${its} has none ${added === 1 ? 'sounds' : 'sound'} in both voices`,
    altered > 0 &&
      (alike
        ? `${counted(altered, 'hit')} of ${its} ${altered === 1 ? 'has' : 'have'} a gate as long as those of ${theirs}`
        : `${counted(altered, 'hit')} of ${its} ${altered === 1 ? 'has' : 'have'} the ${leader.definition.course === undefined ? 'sound' : 'shape'} of ${leader.name} (${differences(leader, follower)})`),
  ].filter((one) => one !== false);
  return {
    instead,
    cost: { lostHits: lost, addedHits: added, alteredHits: altered, silentVoices: [] },
    text: words.length === 0 ? undefined : listed(words),
    // An envelope on an amplifier shapes a voice more than one on anything else.
    farness:
      altered *
      (alike
        ? 0
        : farnessOf(leader, follower) +
          (opens(follower, context) && !opens(leader, context) ? 1 : 0)),
  };
}

/** The output that the gates of a net come from, past converters. */
function originOf(
  start: NonNullable<ReturnType<Context['netlist']['at']>>,
  { netlist }: Context,
): string {
  let net = start;
  for (let steps = 0; steps < 16; steps++) {
    const [output] = net.outputs;
    const copied = output && copiedAt(output.module, output.jack.name);
    const before = copied && netlist.at(copied);
    if (before === undefined) break;
    net = before;
  }
  return drivers(net);
}

/** Whether a module drives the control of an amplifier. */
function opens({ name, jacks }: PatchModule, { netlist }: Context): boolean {
  return jacks.some(
    (jack) =>
      jack.direction === 'out' &&
      netlist
        .at({ module: name, jack: jack.name })
        ?.inputs.some(({ module: { definition } }) => isAmplifier(definition)),
  );
}

/** How far the times and levels of two are from each other: octaves, and one for each other setting. */
function farnessOf(one: PatchModule, other: PatchModule): number {
  return differing(one, other).reduce((sum, name) => {
    const [a, b] = [one.settings[name], other.settings[name]];
    if (typeof a !== 'number' || typeof b !== 'number') return sum + (a === b ? 0 : 1);
    // Below a thousandth nobody hears a difference.
    return sum + Math.abs(Math.log2(Math.max(Math.abs(a), 1e-3) / Math.max(Math.abs(b), 1e-3)));
  }, 0);
}

/** The settings in which two modules differ, as the file has them where it does. */
function differences(one: PatchModule, other: PatchModule): string {
  const text = (module: PatchModule, name: string): string | undefined =>
    module.written?.settings.get(name);
  return listed(
    differing(one, other).map((name) => {
      const [here, there] = [text(one, name), text(other, name)];
      return here === undefined || there === undefined ? name : `${name} ${here}, not ${there}`;
    }),
  );
}

/**
 * Two modules that make their sound of nothing, or pass on what such ones make.
 * @param from the one that follows, and what it passes on if it does not make it itself.
 */
function ofSources(
  leader: PatchModule,
  follower: PatchModule,
  voices: readonly PlannedVoice[],
  context: Context,
  from = follower,
): SharingPrice | undefined {
  const { kind, isSeeded } = leader.definition;
  const alike = isAlike(leader, follower);
  if (!alike && firesAny(follower, context)) return undefined;
  const of = (module: PatchModule) => voices.filter((voice) => voice.modules.has(module.name));
  const [mine, theirs] = [of(from), of(leader)];
  if (mine.length === 0 || [...mine, ...theirs].some(({ hits }) => hits === undefined))
    return undefined;
  if (alike && !isSeeded) return { cost: FREE, text: undefined, farness: 0 };
  const price: Joining['price'] = (there, coming) => {
    if (!alike) {
      const hits = coming.reduce((sum, { size }) => sum + size, 0);
      const costText = `${counted(hits, 'hit')} of ${listed(mine.map(({ name }) => name))} ${hits === 1 ? 'gets' : 'get'} its ${kind} as ${leader.name} has it (${differences(leader, follower)})`;
      return { cost: { ...FREE, alteredHits: hits }, costText };
    }
    const sounding: Hits = new Map(there.flatMap((hits) => [...hits]));
    const both = coming.reduce((sum, hits) => sum + shared(hits, sounding), 0);
    const costText =
      both === 0
        ? undefined
        : `at ${counted(both, 'hit')} both voices sound at once, of the same ${kind}`;
    return { cost: { ...FREE, alteredHits: both }, costText };
  };
  const [coming, own] = [mine, theirs].map((all) => all.flatMap(({ hits }) => hits ?? []));
  const { cost, costText } = price(own ?? [], coming ?? []);
  const joins = {
    source: leader.name,
    isAlike: alike,
    own: theirs,
    coming: mine,
    price,
  };
  const farness = alike ? 0 : cost.alteredHits * farnessOf(leader, follower);
  return { cost, text: costText, farness, joins };
}

/** Whether any output of a module fires something: what is set otherwise then fires at other times. */
function firesAny({ name, jacks }: PatchModule, { netlist }: Context): boolean {
  return jacks.some(
    (jack) =>
      jack.direction === 'out' &&
      netlist
        .at({ module: name, jack: jack.name })
        ?.inputs.some((input) => input.jack.facts.trigger !== undefined),
  );
}

/** Whether two modules are set alike; an envelope's trigger type does not count, since the shape is the same. */
function isAlike(a: PatchModule, b: PatchModule): boolean {
  return differing(a, b).length === 0;
}

function differing(a: PatchModule, b: PatchModule): readonly string[] {
  const type = triggerType(a.definition)?.setting;
  return Object.keys(a.settings).filter(
    (name) =>
      name !== type && JSON.stringify(a.settings[name]) !== JSON.stringify(b.settings[name]),
  );
}

function pluggedInputs({ name, jacks }: PatchModule, { netlist }: Context): readonly string[] {
  return jacks
    .filter(
      (jack) =>
        jack.direction === 'in' &&
        (netlist.at({ module: name, jack: jack.name })?.outputs.length ?? 0) > 0,
    )
    .map((jack) => jack.name);
}

function moveFor(
  leader: PatchModule,
  follower: PatchModule,
  { cost, text, farness, joins, instead }: SharingPrice,
  context: Context,
): PlanMove {
  const { netlist } = context;
  const outputs = follower.jacks
    .filter(
      ({ name, direction }) =>
        direction === 'out' && netlist.at({ module: follower.name, jack: name }),
    )
    .map(({ name }) => name);
  const taken = listed(outputs.map((name) => `${leader.name}.${name}`));
  // Sound that comes otherwise gives nothing behind it other hits.
  const firing = follower.jacks.filter(
    (jack) => jack.direction === 'out' && outputs.includes(jack.name) && jack.signal !== 'audio',
  );
  const behind = firing.flatMap(({ name: jack }) =>
    (netlist.at({ module: follower.name, jack })?.inputs ?? []).map(({ module }) => module.name),
  );
  const freed = onlyBefore(follower.name, context);
  const free = text === undefined;
  return {
    action: 'share',
    text: free
      ? `take ${taken} for ${leader.name} and ${follower.name}, ${joins ? 'whose voices never sound at once' : 'which always do the same'}, with a multiple: ${listed(freed)} ${freed.length > 1 ? 'are' : 'is'} free`
      : `let ${leader.name} do the work of ${follower.name} too: take ${taken} for both, with a multiple`,
    costText: text,
    cost,
    farness,
    ...(joins && { joins }),
    ...(instead && { plays: { module: follower.name, instead } }),
    modules: [follower.name, leader.name],
    touches: new Set(freed),
    sets: NONE,
    // Another noise makes no hit come otherwise.
    rehits: free || joins ? NONE : new Set(behind),
    keeps: new Set([leader.name, ...(joins === undefined ? [] : [joins.source])]),
    hears: new Set([...upstream(leader.name, netlist)].map(({ name }) => name)),
    frees: new Set([...upstream(follower.name, netlist)].map(({ definition }) => definition.kind)),
    change(patch) {
      if (moduleNamed(patch, leader.name) === undefined) return undefined;
      let now = patch;
      for (const jack of outputs) {
        const cable = cableFrom(now, { module: follower.name, jack });
        if (cable === undefined) return undefined;
        const bare = { ...now, cables: now.cables.filter((one) => one !== cable) };
        const next = alsoInto(bare, { module: leader.name, jack }, cable.to, cable.place);
        if (next === undefined) return undefined;
        now = next;
      }
      const into = now.cables.filter(({ to }) => to.module === follower.name);
      const rest = { ...now, modules: now.modules.filter(({ name }) => name !== follower.name) };
      return without(rest, into);
    },
  };
}

/** A module, and all that is there for it alone. */
export function onlyBefore(name: string, context: Context): readonly string[] {
  return [...upstream(name, context.netlist)]
    .map((module) => module.name)
    .filter((one) => isOnlyFor(one, name, context));
}

/** Whether all that a module drives is another one, or only for that. */
function isOnlyFor(name: string, goal: string, { patch, netlist }: Context): boolean {
  const seen = new Set<string>();
  const left = [name];
  for (let next = left.pop(); next !== undefined; next = left.pop()) {
    if (next === goal || seen.has(next)) continue;
    seen.add(next);
    const module = patch.modules.find((one) => one.name === next);
    if (module === undefined || module.definition.role === 'output') return false;
    for (const jack of module.jacks)
      if (jack.direction === 'out')
        for (const input of netlist.at({ module: next, jack: jack.name })?.inputs ?? [])
          left.push(input.module.name);
  }
  return true;
}
