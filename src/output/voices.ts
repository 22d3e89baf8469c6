/**
 * The voices of a patch: its chapters, in the sheet, in Markdown and on the page alike. A part is a voice.
 * Where a patch has no parts, a voice is what is reached back from one channel of the mix; channels of
 * the mix that the same strokes start, such as the body and the rattle of a snare, are one voice. What
 * serves one voice alone belongs to it; all else is shared.
 */

import type { Net } from '../electrical/nets.ts';
import { carriedSorts } from '../electrical/sorts.ts';
import { type Prepared, prepared } from '../engine/prepared.ts';
import type { InputJack, Jack } from '../modules/definition.ts';
import {
  type Cable,
  type JackRef,
  jackName,
  type Patch,
  type PatchModule,
} from '../patch/patch.ts';
import { rhythmSettings } from '../timing/rhythm.ts';

export interface Voice {
  /** Of the part, or of the channel that starts it alone, or of the module that it begins or ends with. */
  readonly name: string;
  /** Names of its modules, in the order of the patch. */
  readonly modules: readonly string[];
  /** The channels of rhythm sequencers that start it. */
  readonly channels: readonly ChannelRef[];
  /** The outputs by which it leaves for what is shared, or for the output. */
  readonly ends: readonly JackRef[];
}

/** A channel of a rhythm sequencer. */
export interface ChannelRef {
  readonly module: string;
  readonly channel: string;
}

export interface Voices {
  /** In the order of the patch. */
  readonly voices: readonly Voice[];
  /** Names of the modules that are in no voice: what mixes them, what starts them, the output. */
  readonly shared: readonly string[];
  /** The voice that a module is in. */
  of(module: string): Voice | undefined;
}

/** Those of nothing. */
export const NO_VOICES: Voices = { voices: [], shared: [], of: () => undefined };

/** Finds the voices of a patch: each module is in one, or shared. */
export function voicesOf(of: Patch | Prepared): Voices {
  const all = prepared(of);
  const known = found.get(all.patch);
  if (known !== undefined) return known;
  const wiring = wiringOf(all.patch);
  if (latest.wiring !== wiring) latest = { wiring, voices: new Finder(all).voices() };
  found.set(all.patch, latest.voices);
  return latest.voices;
}

/** Kept, since many ask for them and a patch never changes. */
const found = new WeakMap<Patch, Voices>();
/** While settings are moved, patch after patch is wired alike. */
let latest: { readonly wiring: string; readonly voices: Voices } = {
  wiring: '',
  voices: NO_VOICES,
};

/** All that voices follow from, as a text to compare. */
function wiringOf({ modules, cables }: Patch): string {
  const lines = modules.map((module) => {
    const { name, definition, settings, jacks } = module;
    const channels = definition.role === 'score' ? rhythmSettings(settings).channels : [];
    const words = [
      definition.kind,
      ...jacks.map((jack) => jack.name),
      ...soundInputs(module),
      ...channels.map(({ name: channel, note = '' }) => `${channel} ${note}`),
    ];
    return `${name} ${words.join(' ')}`;
  });
  const wires = cables.map(({ from, to }) => `${jackName(from)} ${jackName(to)}`);
  return [...lines, ...wires].join('\n');
}

/** The voice that a cable belongs to: that of the module that it goes to or, if this is shared, comes from. */
export function voiceOfCable({ from, to }: Cable, voices: Voices): Voice | undefined {
  return voices.of(to.module) ?? voices.of(from.module);
}

/** A group of what a sheet lists: a voice, or what is shared. */
export interface ByVoice<T> {
  /** Of the voice; absent for what is shared. */
  readonly voice?: string;
  readonly items: readonly T[];
}

/** The heading of what is shared. */
export const SHARED = 'shared';

/** Puts a list into the order of the voices; empty groups are left out. */
export function byVoice<T>(
  items: readonly T[],
  { voices }: Voices,
  voiceOf: (item: T) => Voice | undefined,
  isSharedFirst = false,
): readonly ByVoice<T>[] {
  const all = isSharedFirst ? [undefined, ...voices] : [...voices, undefined];
  const groups = new Map<Voice | undefined, T[]>(all.map((voice) => [voice, []]));
  for (const item of items) groups.get(voiceOf(item))?.push(item);
  return [...groups].flatMap(([voice, own]) =>
    own.length === 0 ? [] : [{ ...(voice && { voice: voice.name }), items: own }],
  );
}

/** An output at which a voice ends, and what tells it from others: its part, or what starts it. */
interface VoiceEnd {
  readonly jack: JackRef;
  /** Empty if nothing tells it. */
  readonly key: string;
}

/** What comes into a module that may start what is heard of it. */
interface Starters {
  /** Jacks of scores. */
  readonly gates: readonly string[];
  readonly modules: readonly PatchModule[];
}

class Finder {
  private readonly patch: Patch;
  private readonly nets: Prepared['nets'];
  private readonly modules: ReadonlyMap<string, PatchModule>;
  private readonly sounding: ReadonlySet<Net>;
  /** The ends that a shared module adds up; what is in none is an end itself. */
  private readonly sums = new Map<PatchModule, readonly VoiceEnd[]>();
  private readonly keys = new Map<PatchModule, string>();
  /** All channels, in the order of the patch. */
  private readonly channels: readonly ChannelRef[];
  private readonly starters = new Map<PatchModule, Starters>();

  constructor({ patch, nets }: Prepared) {
    this.patch = patch;
    this.nets = nets;
    this.modules = new Map(patch.modules.map((module) => [module.name, module]));
    const sorts = carriedSorts(nets);
    this.sounding = new Set(nets.nets.filter((net) => sorts.get(net) === 'audio'));
    this.channels = patch.modules.flatMap(({ name: module, definition, settings }) =>
      definition.role === 'score'
        ? rhythmSettings(settings).channels.map(({ name: channel }) => ({ module, channel }))
        : [],
    );
  }

  voices(): Voices {
    const outputs = this.patch.modules.filter(({ definition }) => definition.role === 'output');
    for (const module of this.soundOrder(outputs)) this.close(module);
    const ends = new Map(
      outputs
        .flatMap((output) => this.soundInto(output))
        .flatMap((net) => this.endsOf(net))
        .map((end) => [jackName(end.jack), end] as const),
    );
    const members = this.membersOf([...ends.values()]);
    const keys = new Map<string, string>();
    for (const { name } of this.patch.modules) {
      const key = members.get(name);
      if (key !== undefined && !keys.has(key)) keys.set(key, name);
    }
    const names = new Set<string>([...keys.keys()].flatMap((key) => partOf(key) ?? []));
    const drafts = [...keys.keys()].map((key) => {
      const modules = this.patch.modules.filter(({ name }) => members.get(name) === key);
      const own = [...ends.values()].filter(({ jack }) => members.get(jack.module) === key);
      return {
        part: partOf(key),
        sources: modules.filter((module) => this.isSource(module)).map(({ name }) => name),
        modules: modules.map(({ name }) => name),
        channels: this.channelsInto(modules, (one) => (members.get(one.name) ?? key) === key),
        ends: own.map(({ jack }) => jack),
      };
    });
    const voices = drafts.map(({ part, sources, ...voice }): Voice => {
      const name = part ?? free(namesFor(voice, sources, drafts), names);
      names.add(name);
      return { name, ...voice };
    });
    const at = new Map(voices.flatMap((voice) => voice.modules.map((name) => [name, voice])));
    return {
      voices,
      shared: this.patch.modules.flatMap(({ name }) => (at.has(name) ? [] : [name])),
      of: (module) => at.get(module),
    };
  }

  /** Decides whether a module is an end or adds ends up. What comes into it has been decided before. */
  private close(module: PatchModule): void {
    const part = partNamed(module.name);
    const before = this.soundInto(module).flatMap((net) => this.endsOf(net));
    const told = new Set(before.flatMap(({ key }) => (key === '' ? [] : [key])));
    const [one = ''] = told;
    if (part === undefined && before.length > 0)
      if (module.definition.sums !== undefined || told.size > 1) {
        this.sums.set(module, before);
        return;
      }
    const strokes = this.channelsInto([module]).map((ref) => JSON.stringify(ref));
    this.keys.set(
      module,
      part === undefined ? (isPart(one) ? one : strokes.join(' ')) : `${PART}${part}`,
    );
  }

  private endsOf(net: Net): readonly VoiceEnd[] {
    return net.outputs.flatMap(
      ({ module, jack }) =>
        this.sums.get(module) ?? [
          {
            jack: { module: module.name, jack: jack.name },
            key: this.keys.get(module) ?? '',
          },
        ],
    );
  }

  /** By the names of modules, the voice that each is in, as its key; what is shared is absent. */
  private membersOf(ends: readonly VoiceEnd[]): ReadonlyMap<string, string> {
    const members = new Map<string, string>();
    const shared = new Set<string>();
    for (const { name } of this.patch.modules) {
      const part = partNamed(name);
      if (part !== undefined) members.set(name, `${PART}${part}`);
    }
    // Back from each end along the sound.
    const reached = new Map<PatchModule, Set<string>>();
    for (const { jack, key } of ends) {
      const mine = key === '' ? jackName(jack) : key;
      const left = [this.modules.get(jack.module) as PatchModule];
      for (let module = left.pop(); module !== undefined; module = left.pop()) {
        const keys = reached.get(module) ?? new Set<string>();
        if (members.has(module.name) || keys.has(mine)) continue;
        reached.set(module, keys.add(mine));
        for (const net of this.soundInto(module))
          for (const driver of net.outputs) left.push(driver.module);
      }
    }
    // What adds up the ends of one voice alone belongs to it.
    for (const [module, all] of this.sums)
      if (!reached.has(module))
        reached.set(
          module,
          new Set(all.map(({ jack, key }) => (key === '' ? jackName(jack) : key))),
        );
    for (const [{ name }, keys] of reached) {
      const key = only(keys);
      if (key === undefined) shared.add(name);
      else members.set(name, key);
    }
    for (const { name, definition } of this.patch.modules)
      if (definition.role === 'score' || definition.role === 'output') shared.add(name);
    this.addHelpers(members, shared);
    this.addMultiples(members);
    return members;
  }

  /** Adds what shapes or starts the modules of one voice alone. */
  private addHelpers(members: Map<string, string>, shared: Set<string>): void {
    const active = this.patch.modules.filter(({ definition }) => definition.role === 'circuit');
    const loose = active.filter(({ name }) => !members.has(name) && !shared.has(name));
    // By module, the voices of all that it reaches; what is shared counts as one more.
    const reaches = new Map<string, Set<string>>(loose.map(({ name }) => [name, new Set()]));
    const feeders = new Map<string, Set<string>>();
    for (const { name, jacks } of active)
      for (const jack of jacks.filter(isInput))
        for (const { module } of this.nets.at({ module: name, jack: jack.name })?.outputs ?? []) {
          const own = reaches.get(module.name);
          if (own === undefined) continue;
          if (reaches.has(name))
            feeders.set(name, (feeders.get(name) ?? new Set()).add(module.name));
          else own.add(members.get(name) ?? SHARED_KEY);
        }
    const left = [...reaches.keys()];
    for (let name = left.pop(); name !== undefined; name = left.pop())
      for (const feeder of feeders.get(name) ?? []) {
        const own = reaches.get(feeder) as Set<string>;
        const before = own.size;
        for (const key of reaches.get(name) ?? []) own.add(key);
        if (own.size > before) left.push(feeder);
      }
    for (const [name, keys] of reaches) {
      const key = only(keys);
      if (key !== undefined && key !== SHARED_KEY) members.set(name, key);
    }
  }

  /** A multiple belongs to the voice that reads it or, where others read it too, to the one that drives it. */
  private addMultiples(members: Map<string, string>): void {
    for (const { name, definition, jacks } of this.patch.modules) {
      if (definition.role !== 'passive' || members.has(name)) continue;
      const nets = jacks.flatMap((jack) => this.nets.at({ module: name, jack: jack.name }) ?? []);
      const keysOf = (side: 'inputs' | 'outputs'): ReadonlySet<string | undefined> =>
        new Set(nets.flatMap((net) => net[side].map(({ module }) => members.get(module.name))));
      const [reads, drives] = [keysOf('inputs'), keysOf('outputs')];
      const key = only(reads) ?? only(drives);
      if (key !== undefined) members.set(name, key);
    }
  }

  /** The nets whose sound a module passes on, changed or not. */
  private soundInto(module: PatchModule): readonly Net[] {
    return soundInputs(module).flatMap((jack) => {
      const net = this.nets.at({ module: module.name, jack });
      return net !== undefined && this.sounding.has(net) ? [net] : [];
    });
  }

  /** Whether it makes sound without sound coming in. */
  private isSource(module: PatchModule): boolean {
    const makes = module.jacks.some((jack) => {
      const net =
        jack.direction === 'out' && this.nets.at({ module: module.name, jack: jack.name });
      return net && this.sounding.has(net);
    });
    return makes && this.soundInto(module).length === 0;
  }

  /** All that is heard in these modules, each after what comes into it, but for circles. */
  private soundOrder(last: readonly PatchModule[]): readonly PatchModule[] {
    const order: PatchModule[] = [];
    const met = new Set<PatchModule>();
    const open = new Set<PatchModule>();
    const left = last.flatMap((module) => this.driversOf(this.soundInto(module)));
    for (let module = left.at(-1); module !== undefined; module = left.at(-1)) {
      if (met.has(module)) {
        left.pop();
        if (open.delete(module)) order.push(module);
        continue;
      }
      met.add(module);
      open.add(module);
      for (const driver of this.driversOf(this.soundInto(module)))
        if (!met.has(driver)) left.push(driver);
    }
    return order;
  }

  private driversOf(nets: readonly Net[]): readonly PatchModule[] {
    return nets.flatMap(({ outputs }) => outputs.map(({ module }) => module));
  }

  /**
   * The channels that start what is heard of some modules, in the order of the patch.
   * @param isOpen whether one may be reached back through.
   */
  private channelsInto(
    modules: readonly PatchModule[],
    isOpen: (module: PatchModule) => boolean = () => true,
  ): readonly ChannelRef[] {
    const hit = new Set<string>();
    const seen = new Set<PatchModule>();
    const left = [...modules];
    for (let module = left.pop(); module !== undefined; module = left.pop()) {
      if (seen.has(module)) continue;
      seen.add(module);
      const { gates, modules } = this.startersOf(module);
      for (const gate of gates) hit.add(gate);
      for (const one of modules) if (isOpen(one)) left.push(one);
    }
    return this.channels.filter(({ module, channel }) =>
      hit.has(jackName({ module, jack: channel })),
    );
  }

  private startersOf(module: PatchModule): Starters {
    const known = this.starters.get(module);
    if (known !== undefined) return known;
    const sound = new Set(soundInputs(module));
    const drivers = module.jacks
      .filter(isInput)
      // What ends a sound or sends a row back starts nothing, nor does what another voice is measured by.
      .filter(
        ({ name, signal, rise }) =>
          rise !== 'resets' && rise !== 'ends' && (signal !== 'audio' || sound.has(name)),
      )
      .flatMap(({ name }) => this.nets.at({ module: module.name, jack: name })?.outputs ?? []);
    const isScore = ({ module: { definition } }: (typeof drivers)[number]): boolean =>
      definition.role === 'score';
    const starters = {
      gates: drivers
        .filter((driver) => isScore(driver) && driver.jack.signal === 'gate')
        .map((driver) => jackName({ module: driver.module.name, jack: driver.jack.name })),
      modules: drivers.filter((driver) => !isScore(driver)).map((driver) => driver.module),
    };
    this.starters.set(module, starters);
    return starters;
  }
}

/** The only member of a set; undefined if it has several or none. */
function only<T>(all: ReadonlySet<T>): T | undefined {
  const [one] = all;
  return all.size === 1 ? one : undefined;
}

/** Of the key of a part. No channel begins so. */
const PART = 'part ';
const SHARED_KEY = ' shared';

function isPart(key: string): boolean {
  return key.startsWith(PART);
}

function partOf(key: string): string | undefined {
  return isPart(key) ? key.slice(PART.length) : undefined;
}

/** The part of the patch that a module is in, by its name. */
function partNamed(module: string): string | undefined {
  const dot = module.indexOf('.');
  return dot < 0 ? undefined : module.slice(0, dot);
}

function isInput(jack: Jack): jack is InputJack {
  return jack.direction === 'in';
}

/** The inputs whose sound comes out again; not a side chain, which only measures it. */
export function soundInputs({ definition, settings, jacks }: PatchModule): readonly string[] {
  const needs = definition.needs?.(settings);
  const audio = (jack: InputJack): boolean => jack.signal === 'audio';
  if (needs === undefined)
    return jacks
      .filter(isInput)
      .filter(audio)
      .map(({ name }) => name);
  return needs.flatMap(({ inputs }) => inputs);
}

/** Names for a voice that is no part, the best first. */
function namesFor(
  { channels, ends, modules }: Omit<Voice, 'name'>,
  sources: readonly string[],
  all: readonly Omit<Voice, 'name'>[],
): readonly string[] {
  const [first, ...others] = channels;
  const isOwn =
    first !== undefined &&
    others.length === 0 &&
    !all.some(
      (voice) =>
        voice.modules !== modules &&
        voice.channels.some(
          ({ module, channel }) => module === first.module && channel === first.channel,
        ),
    );
  const last = ends[0]?.module ?? modules.at(-1) ?? '';
  return [
    ...(isOwn ? [first.channel] : []),
    ...(sources.length === 1 ? sources : []),
    last,
    ...ends.map(jackName),
  ];
}

function free(names: readonly string[], taken: ReadonlySet<string>): string {
  const [first = 'voice'] = names;
  const name = names.find((one) => !taken.has(one));
  if (name !== undefined) return name;
  let count = 2;
  while (taken.has(`${first} ${count}`)) count++;
  return `${first} ${count}`;
}
