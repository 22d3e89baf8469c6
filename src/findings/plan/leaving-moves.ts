/**
 * Moves that leave something out: a voice, or modules that cables bypass since they are not needed or are
 * missed least.
 */

import type { Net, Terminal } from '../../electrical/nets.ts';
import type { InputJack } from '../../modules/definition.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { pluggedJacks } from '../../patch/rack/assign.ts';
import { counted } from '../../patch/text/counted.ts';
import { isAmplifier } from '../amplifiers.ts';
import type { Context } from '../finding.ts';
import { inputOpen } from '../rules/input-open.ts';
import { addsVolts, origins } from '../triggers/carried.ts';
import { listed } from '../words.ts';
import { accentsOf } from './hits.ts';
import { FREE, NONE, type PlanMove } from './move.ts';
import { moduleNamed, past, pastMultiple, without } from './replug.ts';
import { onlyBefore } from './sharing-moves.ts';
import type { PlannedVoice } from './voices.ts';

/** A move that only takes out makes no demands on the rest. */
const ALONE = { sets: NONE, rehits: NONE, keeps: NONE, hears: NONE };

export function leavingMoves(
  context: Context,
  voices: readonly PlannedVoice[],
): readonly PlanMove[] {
  const { modules } = context.patch;
  return [
    ...deadEnds(context),
    ...modules.flatMap((module) => pastWire(module, context) ?? []),
    ...modules.flatMap((module) => pastAccent(module, context, voices) ?? []),
    ...modules.flatMap((module) => pastFilter(module, context, voices) ?? []),
    ...modules.flatMap((module) => stilled(module, context, voices) ?? []),
    ...voices.flatMap((voice) => leftOut(voice, voices, context) ?? []),
  ];
}

/** All that leads to no output, unless an input is open that some of it may be meant for. */
function deadEnds(context: Context): readonly PlanMove[] {
  const { patch, netlist } = context;
  if (inputOpen.find(context).length > 0) return [];
  const reached = new Set<string>();
  const left = patch.modules
    .filter(({ definition }) => definition.role === 'output')
    .map(({ name }) => name);
  for (let name = left.pop(); name !== undefined; name = left.pop()) {
    if (reached.has(name)) continue;
    reached.add(name);
    const module = patch.modules.find((one) => one.name === name);
    for (const jack of module?.jacks ?? [])
      if (jack.direction === 'in') {
        const net = netlist.at({ module: name, jack: jack.name });
        for (const ref of net?.jacks ?? []) if (!isInput(ref, net)) left.push(ref.module);
      }
  }
  const dead = patch.modules.filter(
    ({ name, definition }) => !reached.has(name) && definition.role !== 'score',
  );
  if (dead.length === 0) return [];
  const names = new Set(dead.map(({ name }) => name));
  return [
    {
      action: 'leave-out',
      text: `leave out ${listed([...names])}, which ${names.size === 1 ? 'leads' : 'lead'} to no output`,
      costText: undefined,
      cost: FREE,
      modules: [...names],
      touches: names,
      ...ALONE,
      frees: new Set([...dead.map(({ definition }) => definition.kind), ...passedOn(patch)]),
      change(now) {
        const rest = { ...now, modules: now.modules.filter(({ name }) => !names.has(name)) };
        return without(
          rest,
          now.cables.filter(({ from, to }) => names.has(from.module) || names.has(to.module)),
        );
      },
    },
  ];
}

function isInput(ref: JackRef, net: Net | undefined): boolean {
  return (net?.inputs ?? []).some(
    ({ module, jack }) => module.name === ref.module && jack.name === ref.jack,
  );
}

/** A multiple that only lengthens a cable. */
function pastWire({ name, definition }: PatchModule, { patch }: Context): PlanMove | undefined {
  if (definition.role !== 'passive') return undefined;
  if ((pluggedJacks(patch.cables).get(name)?.size ?? 0) > 2) return undefined;
  return bypass(
    patch,
    name,
    `plug past ${name}, which has no more than two plugs: one cable in its place does the same`,
    () => ({ cost: FREE, costText: undefined }),
    (patchNow) => pastMultiple(patchNow, name),
  );
}

/** An amplifier that does nothing but accents. */
function pastAccent(
  { name, definition }: PatchModule,
  context: Context,
  voices: readonly PlannedVoice[],
): PlanMove | undefined {
  const [[output, [input] = []] = []] = Object.entries(definition.multiplies ?? {});
  if (!isAmplifier(definition) || output === undefined || input === undefined) return undefined;
  const net = context.netlist.at({ module: name, jack: 'control' });
  if (net === undefined) return undefined;
  const from = origins(net, context.netlist);
  const accents = from.filter(
    ({ module, jack }) => module.definition.role === 'score' && jack.signal === 'control',
  );
  const isOnlyAccents = from.every((one) => accents.includes(one) || addsVolts(one));
  if (accents.length === 0 || !isOnlyAccents) return undefined;
  const all = accents.map(({ module, jack }) =>
    accentsOf(module, jack.name.replace(/-accent$/, ''), context),
  );
  const heard = voices.filter(({ modules }) => modules.has(name));
  const hits = all.reduce((sum, one) => sum + one.hits, 0);
  const names = listed(accents.map(({ module, jack }) => `${module.name}.${jack.name}`));
  return bypass(
    context.patch,
    name,
    `plug past ${name}, which is there for accents alone`,
    (kept) => {
      const left = heard.map((voice) => ({ hits: voice.hits, kept: kept(voice) }));
      const isThere = (sample: number): boolean =>
        left.every((voice) => voice.kept.has(sample) || !voice.hits?.has(sample));
      const accented = all.flatMap((one) => one.accented.filter(isThere)).length;
      const costText =
        accented === 0
          ? undefined
          : `the ${counted(accented, 'accent')} of ${names} ${accented === 1 ? 'is' : 'are'} no louder than the other ${hits - accented} of ${counted(hits, 'hit')}`;
      return { cost: { ...FREE, alteredHits: accented }, costText };
    },
    (patch) => past(patch, name, input, output),
  );
}

/** A filter that sound goes through: without it the sound is brighter or fuller, but it is there. */
function pastFilter(
  { name, definition, jacks }: PatchModule,
  { netlist, patch }: Context,
  voices: readonly PlannedVoice[],
): PlanMove | undefined {
  const input = definition.filters;
  if (input === undefined) return undefined;
  const outputs = jacks.filter(
    (jack) => jack.direction === 'out' && netlist.at({ module: name, jack: jack.name }),
  );
  const [output, ...others] = outputs;
  // What rings by itself, struck by a gate, is a source.
  const struck = netlist
    .at({ module: name, jack: input })
    ?.outputs.some(({ jack }) => jack.signal !== 'audio');
  if (output === undefined || others.length > 0 || struck !== false) return undefined;
  const heard = voices.filter(({ modules }) => modules.has(name));
  if (heard.length === 0 || heard.some(({ hits }) => hits === undefined)) return undefined;
  return bypass(
    patch,
    name,
    `plug past ${name}`,
    (kept) => {
      const hits = heard.reduce((sum, voice) => sum + kept(voice).size, 0);
      const costText = `${counted(hits, 'hit')} of ${listed(heard.map((voice) => voice.name))} ${hits === 1 ? 'sounds' : 'sound'} without that filter`;
      return { cost: { ...FREE, alteredHits: hits }, costText };
    },
    (now) => past(now, name, input, output.name),
  );
}

/**
 * What only moves inputs that do without: volts at the control of a filter, say. Without it the sound stands still,
 * but it is there. Pitches are left alone, since a voice without its melody is another.
 */
function stilled(
  { name, definition, jacks }: PatchModule,
  context: Context,
  voices: readonly PlannedVoice[],
): PlanMove | undefined {
  if (definition.role !== 'circuit') return undefined;
  const moved = jacks.flatMap((jack) =>
    jack.direction === 'out'
      ? (context.netlist.at({ module: name, jack: jack.name })?.inputs ?? [])
      : [],
  );
  const heard = voices.filter(({ modules }) => modules.has(name));
  if (moved.length === 0 || !moved.every(doesWithout)) return undefined;
  if (heard.length === 0 || heard.some(({ hits }) => hits === undefined)) return undefined;
  const gone = new Set(onlyBefore(name, context));
  const targets = moved.map(({ module, jack }) =>
    jackName({ module: module.name, jack: jack.name }),
  );
  const price: NonNullable<PlanMove['price']> = (kept) => {
    const hits = heard.reduce((sum, voice) => sum + kept(voice).size, 0);
    const costText = `${counted(hits, 'hit')} of ${listed(heard.map((voice) => voice.name))} ${hits === 1 ? 'sounds' : 'sound'} without that movement`;
    return { cost: { ...FREE, alteredHits: hits }, costText };
  };
  const kinds = context.patch.modules.flatMap((one) =>
    gone.has(one.name) ? [one.definition.kind] : [],
  );
  return {
    action: 'leave-out',
    text: `leave out ${name}, which only moves ${listed(targets)}`,
    ...price(({ hits = new Map() }) => hits),
    price,
    modules: [...gone],
    touches: gone,
    ...ALONE,
    frees: new Set([...kinds, 'multiple']),
    change(now) {
      if (!now.modules.some((one) => one.name === name)) return undefined;
      const rest = { ...now, modules: now.modules.filter((one) => one.name !== name) };
      return without(
        rest,
        now.cables.filter(({ from, to }) => from.module === name || to.module === name),
      );
    },
  };
}

/** Whether an input of volts that move something may as well have no plug. */
function doesWithout({ module, jack }: Terminal<InputJack>): boolean {
  const needs = module.definition.needs?.(module.settings as never) ?? [];
  return (
    jack.signal === 'control' &&
    jack.facts.trigger === undefined &&
    module.definition.role === 'circuit' &&
    !needs.some(({ inputs }) => inputs.includes(jack.name))
  );
}

function bypass(
  patch: Patch,
  name: string,
  text: string,
  price: NonNullable<PlanMove['price']>,
  change: PlanMove['change'],
): PlanMove {
  return {
    action: 'bypass',
    text,
    ...price(({ hits = new Map() }) => hits),
    price,
    modules: [name],
    touches: new Set([name]),
    ...ALONE,
    frees: new Set([moduleNamed(patch, name)?.definition.kind ?? '', ...passedOn(patch)]),
    change,
  };
}

/** The kinds of what only passes on, adds up or scales, which may be left without use where something else goes. */
function passedOn({ modules }: Patch): readonly string[] {
  return modules.flatMap(({ definition: { kind, role, sums } }) =>
    role === 'passive' || sums !== undefined ? [kind] : [],
  );
}

/** A voice that is left out; one whose hits are not known is not offered. */
function leftOut(
  { jack, name, modules, kinds, plays, hits }: PlannedVoice,
  voices: readonly PlannedVoice[],
  { netlist, patch }: Context,
): PlanMove | undefined {
  const net = netlist.at(jack);
  if (hits === undefined || net === undefined) return undefined;
  const others = voices.filter((voice) => voice.name !== name);
  const own = [...modules].filter((one) => !others.some((voice) => voice.modules.has(one)));
  const total = voices.reduce((sum, voice) => sum + (voice.hits?.size ?? 0), 0);
  return {
    action: 'leave-out',
    text: `leave out the voice of ${name}${plays.length === 0 ? '' : `, which plays ${listed(plays)}`}`,
    costText: `${hits.size === total ? 'all' : `${hits.size} of`} ${counted(total, 'hit')} ${hits.size === 1 ? 'is' : 'are'} silent`,
    cost: { ...FREE, lostHits: hits.size, silentVoices: [name] },
    modules: own,
    touches: new Set(own),
    ...ALONE,
    frees: new Set([...kinds, ...passedOn(patch)]),
    change(now) {
      // The wire from the voice to where it is mixed, through multiples.
      const names = new Set(net.cables.map(({ from, to }) => `${jackName(from)} ${jackName(to)}`));
      const cables = now.cables.filter(({ from, to }) =>
        names.has(`${jackName(from)} ${jackName(to)}`),
      );
      return cables.length === 0 ? undefined : without(now, cables);
    },
  };
}
