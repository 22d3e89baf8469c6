/**
 * What arrives at each trigger input: its pulses, and the strokes that were meant.
 *
 * Pulses of a rhythm module are followed through multiples, converters, logic, delays and dividers
 * without playing anything, by what their definitions say of `gates`. What comes by any other way is taken from the
 * rehearsal; which strokes it was meant for is known behind attenuators, mixers and comparators too, and of a rhythm
 * that follows pulses by those that reach it.
 */

import type { NetLevels, TriggerLevels } from '../../electrical/levels.ts';
import type { Net, Netlist, Terminal } from '../../electrical/nets.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { InputJack, OutputJack } from '../../modules/definition.ts';
import type { TriggerFacts } from '../../modules/facts.ts';
import { type GatePulse, union } from '../../modules/gates.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { CLOCK_IN, isFollowing, rhythmSettings } from '../../timing/rhythm.ts';
import type { Outset } from '../outset.ts';
import type { HeardPulses } from '../rehearsal.ts';
import { type FollowedPlay, followedPlay } from './followed-play.ts';
import { PlayedRhythm, type WrittenStroke } from './played.ts';
import { noticed } from './pulses.ts';
import { joined, type Observed, type SongExtent, shortest } from './span.ts';
import { atJack, type Crossing, seenThrough } from './staged.ts';
import { strokeSources } from './stroke-sources.ts';
import { type MatchedStroke, pulsedStrokes } from './strokes.ts';

/** What arrives at a trigger input. */
export interface Train {
  readonly terminal: Terminal<InputJack>;
  readonly net: Net;
  /** From threshold to threshold, by sample at the rate of its {@link Triggers}. */
  readonly pulses: readonly GatePulse[];
  /** Samples that a pulse must last. */
  readonly needed: number;
  readonly noticed: readonly GatePulse[];
  /** The strokes that were meant for it, in order; undefined where that cannot be told. */
  readonly strokes: readonly MatchedStroke[] | undefined;
  readonly span: SongExtent;
}

export class Triggers {
  private readonly patch: Patch;
  private readonly netlist: Netlist;
  private readonly levels: ReadonlyMap<Net, NetLevels>;
  private readonly seed: string;
  private readonly rehearsal: () => HeardPulses | undefined;
  private readonly sampleRate: number;
  private readonly played = new Map<PatchModule, PlayedRhythm>();
  private readonly followed = new Map<PatchModule, FollowedPlay>();
  private readonly trains = new Map<string, Train | undefined>();
  /** Whether the pulses of an output can be worked out. */
  private readonly ways = new Map<string, boolean>();
  /** Whether a rhythm follows pulses. In most patches none does. */
  private readonly hasFollowers: boolean;

  /** @param sampleRate Hz, of all samples here, those of the rehearsal among them. */
  constructor(
    { patch, netlist, levels }: Pick<Outset, 'patch' | 'netlist' | 'levels'>,
    rehearsal: () => HeardPulses | undefined,
    sampleRate = USUAL_RATE,
  ) {
    this.patch = patch;
    this.seed = patch.seed;
    this.netlist = netlist;
    this.levels = levels;
    this.rehearsal = rehearsal;
    this.hasFollowers = patch.modules.some((module) => isFollowing(patch, module));
    this.sampleRate = sampleRate;
  }

  /** Every trigger input that is driven as it waits to be, in the order of the nets. */
  all(): readonly Train[] {
    return this.netlist.nets.flatMap((net) =>
      net.inputs.flatMap((terminal) => this.trainAt(terminal) ?? []),
    );
  }

  /** What arrives at a jack; undefined where nothing does, or never passes its threshold. */
  at(ref: JackRef): Train | undefined {
    const terminal = this.inputAt(ref);
    return terminal && this.trainAt(terminal);
  }

  private inputAt(ref: JackRef): Terminal<InputJack> | undefined {
    return this.netlist
      .at(ref)
      ?.inputs.find(({ module, jack }) => module.name === ref.module && jack.name === ref.jack);
  }

  /**
   * Whether an input of other thresholds would see a pulse for each stroke, on a net with slow edges.
   * @returns undefined where the pulses on it, or what they are meant for, are not known without playing.
   */
  areApart(net: Net, thresholds: Crossing): boolean | undefined {
    const stage = net.outputs[0]?.jack.facts.stage;
    const known = stage && this.pulsesOn(net);
    const meant = this.onsetsOn(net);
    if (stage === undefined || known === undefined || meant === undefined) return undefined;
    const seen = seenThrough(known.items, stage, thresholds, this.sampleRate);
    const strokes = pulsedStrokes(meant.items, seen, known.span.seconds, this.sampleRate);
    return seen.every(({ start, end }) => end > start) && strokes.every(({ merged }) => !merged);
  }

  /**
   * A pulse by itself as an input sees it, on a net whose one output gives pulses of a measured width, whatever
   * starts them. It takes no playing.
   * @returns undefined where no width is measured, or the input does not fire.
   */
  measuredPulse(ref: JackRef): Pick<Train, 'pulses' | 'needed'> | undefined {
    const terminal = this.inputAt(ref);
    const net = this.netlist.at(ref);
    const [output, ...others] = net?.outputs ?? [];
    const stage = output?.jack.facts.stage;
    const trigger = terminal?.jack.facts.trigger;
    if (terminal === undefined || net === undefined || trigger === undefined) return undefined;
    if (others.length > 0 || stage === undefined || stage.width === 0) return undefined;
    if (!this.isTriggered(terminal, net)) return undefined;
    const pulses = this.seenAt(
      terminal,
      net,
      atJack([{ start: 0, end: 1 }], stage, this.sampleRate),
    );
    return { pulses, needed: this.neededBy(trigger) };
  }

  /** What a rhythm module plays in its song. */
  playedBy(module: PatchModule): PlayedRhythm {
    let played = this.played.get(module);
    if (played === undefined) {
      played = new PlayedRhythm(module, this.seed, this.sampleRate);
      this.played.set(module, played);
    }
    return played;
  }

  /** The trigger inputs whose pulses only a rehearsal tells. */
  toBeHeard(): readonly Terminal<InputJack>[] {
    return this.netlist.nets.flatMap((net) =>
      net.inputs.filter(
        (terminal) =>
          this.isTriggered(terminal, net) && !net.outputs.every((one) => this.isKnown(one)),
      ),
    );
  }

  private trainAt(terminal: Terminal<InputJack>): Train | undefined {
    this.workOutFrom(terminal);
    return this.trains.get(terminalName(terminal));
  }

  /**
   * Works out what arrives at an input, after what arrives at those before it: a chain of modules can
   * be longer than calls can go deep. In a cycle, what is begun and not done counts as not known.
   */
  private workOutFrom(terminal: Terminal<InputJack>): void {
    const left = [terminal];
    const begun = new Set<string>();
    for (let next = left.at(-1); next !== undefined; next = left.at(-1)) {
      const name = terminalName(next);
      if (this.trains.has(name)) {
        left.pop();
        if (begun.delete(name)) this.trains.set(name, this.workOut(next));
        continue;
      }
      this.trains.set(name, undefined);
      begun.add(name);
      for (const before of this.triggersBefore(next))
        if (!this.trains.has(terminalName(before))) left.push(before);
    }
  }

  /** The trigger inputs of the modules that drive an input, and of a rhythm that follows pulses, also from farther off. */
  private triggersBefore({ module, jack }: Terminal<InputJack>): readonly Terminal<InputJack>[] {
    const net = this.netlist.at({ module: module.name, jack: jack.name });
    // Looked for only then: each walks over all that is before it, a chain once for each of its modules.
    const sources = (this.hasFollowers && net && strokeSources(net, this.netlist)) || [];
    const drivers = [
      ...(net?.outputs ?? []),
      ...sources.filter((source) => isFollowing(this.patch, source.module)),
    ];
    return drivers.flatMap(({ module: driver }) =>
      driver.jacks.flatMap(({ name, direction }) => {
        if (direction !== 'in') return [];
        const input = this.inputAt({ module: driver.name, jack: name });
        return input?.jack.facts.trigger === undefined ? [] : [input];
      }),
    );
  }

  private workOut(terminal: Terminal<InputJack>): Train | undefined {
    const { module, jack } = terminal;
    const net = this.netlist.at({ module: module.name, jack: jack.name });
    const { trigger } = jack.facts;
    if (net === undefined || trigger === undefined || !this.isTriggered(terminal, net))
      return undefined;
    const known = this.pulsesOn(net);
    const arriving = known ?? this.heardAt(terminal);
    if (arriving === undefined) return undefined;
    const { span } = arriving;
    const pulses = known === undefined ? arriving.items : this.seenAt(terminal, net, known.items);
    const meant = this.onsetsOn(net);
    const strokes = meant && pulsedStrokes(meant.items, pulses, span.seconds, this.sampleRate);
    const needed = this.neededBy(trigger);
    return { terminal, net, pulses, needed, noticed: noticed(pulses, needed), strokes, span };
  }

  /** Whether it goes on and off with its net; otherwise the electrical rules report it. */
  private isTriggered({ module, jack }: Terminal<InputJack>, net: Net): boolean {
    const { trigger } = jack.facts;
    if (trigger === undefined || !drivenAsMeant(net, trigger.type)) return false;
    const input = this.levels
      .get(net)
      ?.inputs.find(({ terminal }) => terminal.module === module && terminal.jack === jack);
    const levels = input?.trigger;
    return levels !== undefined && levels.margin >= 0 && levels.release >= 0;
  }

  /** What an input sees of the pulses on a net, whose edges may be slow. */
  private seenAt(
    { module, jack }: Terminal<InputJack>,
    net: Net,
    pulses: readonly GatePulse[],
  ): readonly GatePulse[] {
    const stage = net.outputs[0]?.jack.facts.stage;
    const levels = this.levels.get(net);
    const trigger = levels?.inputs.find(
      ({ terminal }) => terminal.module === module && terminal.jack === jack,
    )?.trigger;
    if (stage === undefined || levels === undefined || trigger === undefined) return pulses;
    const { on, off, driven, type } = trigger;
    const idle = type === 'voltage' ? levels.low : levels.high;
    const share = (volts: number): number => (volts - idle) / (driven - idle);
    return seenThrough(pulses, stage, { on: share(on), off: share(off) }, this.sampleRate);
  }

  /** Samples that a pulse must last. */
  private neededBy({ shortest }: TriggerFacts): number {
    return Math.max(1, Math.round(shortest * this.sampleRate));
  }

  private heardAt({ module, jack }: Terminal<InputJack>): Observed<GatePulse> | undefined {
    const rehearsal = this.rehearsal();
    const items = rehearsal?.pulses.get(jackName({ module: module.name, jack: jack.name }));
    if (rehearsal === undefined || items === undefined) return undefined;
    const { seconds, complete } = rehearsal;
    return { items, span: { seconds, complete, heard: true } };
  }

  /** Whether the pulses of an output can be worked out. In a cycle they cannot. */
  private isKnown(output: Terminal<OutputJack>): boolean {
    const left = [output];
    const begun = new Set<string>();
    for (let next = left.at(-1); next !== undefined; next = left.at(-1)) {
      const name = terminalName(next);
      if (this.ways.has(name)) {
        left.pop();
        if (begun.delete(name)) this.ways.set(name, this.followsFromBefore(next));
        continue;
      }
      // A feedback path finds this when it comes back to itself.
      this.ways.set(name, false);
      begun.add(name);
      for (const input of this.decidersOf(next))
        for (const before of this.netlist.at(input)?.outputs ?? [])
          if (!this.ways.has(terminalName(before))) left.push(before);
    }
    return this.ways.get(terminalName(output)) === true;
  }

  /** The inputs that decide an output's pulses. */
  private decidersOf({ module, jack }: Terminal<OutputJack>): readonly JackRef[] {
    if (module.definition.role === 'score') return [];
    const inputs = module.definition.gates?.(jack.name)?.inputs ?? [];
    return inputs.map((input) => ({ module: module.name, jack: input }));
  }

  /** Whether an output's pulses can be worked out, by what is known of all before it. */
  private followsFromBefore(output: Terminal<OutputJack>): boolean {
    const { definition, settings } = output.module;
    const { facts, name } = output.jack;
    // Slow edges mix on a wire that other outputs drive as well.
    const isSlow = facts.stage !== undefined && facts.stage.rise > 0;
    const net = isSlow && this.netlist.at({ module: output.module.name, jack: name });
    if (net && net.outputs.length > 1) return false;
    if (definition.role === 'score')
      return output.jack.signal === 'gate' && !isFollowing(this.patch, output.module);
    return (
      this.decidersOf(output).every((input) => this.isOffOrKnown(input)) &&
      definition.gates?.(output.jack.name)?.pulses([], settings, this.sampleRate) !== undefined
    );
  }

  /** Whether nothing drives an input, or what does can be worked out and passes its threshold. */
  private isOffOrKnown(ref: JackRef): boolean {
    const net = this.netlist.at(ref);
    if (net === undefined || net.outputs.length === 0) return true;
    const terminal = this.inputAt(ref);
    return (
      terminal !== undefined &&
      this.isTriggered(terminal, net) &&
      net.outputs.every((output) => this.ways.get(terminalName(output)) === true)
    );
  }

  private pulsesOn(net: Net): Observed<GatePulse> | undefined {
    if (!net.outputs.every((output) => this.isKnown(output))) return undefined;
    const trains = net.outputs.map((output) => {
      const made = this.pulsesOf(output);
      return (
        made && { ...made, items: atJack(made.items, output.jack.facts.stage, this.sampleRate) }
      );
    });
    if (trains.some((train) => train === undefined)) return undefined;
    const known = trains as Observed<GatePulse>[];
    return { items: union(known.map(({ items }) => items)), span: shortest(known) };
  }

  /** The pulses that the circuit behind an output makes. */
  private pulsesOf({ module, jack }: Terminal<OutputJack>): Observed<GatePulse> | undefined {
    if (module.definition.role === 'score') {
      const { pulses, seconds, complete } = this.playedBy(module).part(jack.name);
      return { items: pulses, span: { seconds, complete, heard: false } };
    }
    const law = module.definition.gates?.(jack.name);
    const trains = law?.inputs.map((input) => this.at({ module: module.name, jack: input })) ?? [];
    const items = law?.pulses(
      trains.map((train) => train?.noticed ?? []),
      module.settings,
      this.sampleRate,
    );
    const driven = trains.filter((train) => train !== undefined);
    return items && { items, span: shortest(driven) };
  }

  private onsetsOn(net: Net): Observed<WrittenStroke> | undefined {
    const sources = strokeSources(net, this.netlist);
    return sources && joined(sources.map((output) => this.onsetsOf(output)));
  }

  /** The strokes of a channel of a rhythm that follows pulses, by those that are known to reach it. */
  private followedOnsets(module: PatchModule, output: string): Observed<WrittenStroke> | undefined {
    const { channels } = rhythmSettings(module.settings);
    const which = channels.findIndex(({ name }) => name === output);
    // What reaches it was worked out before, so that no call goes deeper for each that follows another.
    const at = (jack: JackRef): Train | undefined => this.trains.get(jackName(jack));
    const clock = at({ module: module.name, jack: CLOCK_IN });
    const play =
      this.followed.get(module) ?? followedPlay(module, this.patch, { at }, this.sampleRate);
    if (which < 0 || clock === undefined || play === undefined) return undefined;
    this.followed.set(module, play);
    const source = jackName({ module: module.name, jack: output });
    const items = play.strokes
      .filter(({ channel }) => channel === which)
      .map(({ sample, cause, bar, step }) => ({ sample, source, cause, bar, step }));
    return { items, span: clock.span };
  }

  /** The strokes that an output is meant to pass on. */
  private onsetsOf({ module, jack }: Terminal<OutputJack>): Observed<WrittenStroke> | undefined {
    const { definition, settings } = module;
    if (isFollowing(this.patch, module)) return this.followedOnsets(module, jack.name);
    if (definition.role === 'score') {
      const { onsets, seconds, complete } = this.playedBy(module).part(jack.name);
      return { items: onsets, span: { seconds, complete, heard: false } };
    }
    const passed = definition.gates?.(jack.name)?.strokes?.(settings);
    if (passed === undefined) return undefined;
    const late = Math.round(passed.late * this.sampleRate);
    const meantAt = (input: string): Observed<WrittenStroke> | undefined => {
      const train = this.at({ module: module.name, jack: input });
      // What this input itself has missed is its own finding, not that of those behind it.
      const items = train?.strokes
        ?.filter(({ merged }) => !(passed.isAnswered && merged))
        .map((one) => (late === 0 ? one : { ...one, sample: one.sample + late }));
      return train && items && { items, span: train.span };
    };
    const isDriven = (input: string): boolean =>
      (this.netlist.at({ module: module.name, jack: input })?.outputs.length ?? 0) > 0;
    const [only, ...others] = passed.from;
    return only !== undefined && others.length === 0
      ? meantAt(only)
      : joined(passed.from.filter(isDriven).map(meantAt));
  }
}

/** Whether an input does something at each rise, rather than while its trigger is on. */
export function actsOnRise({ terminal: { jack } }: Train): boolean {
  return jack.rise !== 'passes' && jack.rise !== 'ends';
}

function terminalName({ module, jack }: Terminal<InputJack | OutputJack>): string {
  return jackName({ module: module.name, jack: jack.name });
}

/** Whether a net has one driver, or several switches, of the sort that the input waits for. */
export function drivenAsMeant(net: Net, type: TriggerLevels['type']): boolean {
  const types = net.outputs.map(({ jack }) => jack.facts.type);
  if (!types.every((one) => one === type)) return false;
  return type === 'switch' ? types.length > 0 : types.length === 1;
}
