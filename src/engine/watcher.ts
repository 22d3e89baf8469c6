/**
 * Listens at the jacks of one module while it plays: which triggers its inputs notice, where it stands
 * if it is a follower, which phase it is in if it is an envelope.
 */

import { type TriggerInput, triggerInput } from '../modules/dsp/trigger-input.ts';
import { type JackRef, jackName, type PatchModule } from '../patch/patch.ts';
import type { TriggerJack } from './control-path.ts';
import { type Follower, followerOf } from './followers.ts';
import type { Change } from './happening.ts';
import { Phases } from './phases.ts';

/** What a watcher has heard, before it is known what it comes from. */
export interface Heard {
  readonly sample: number;
  readonly jack: string;
  readonly edge: Change;
  readonly volts: number;
  readonly position?: number;
  readonly origins: ReadonlySet<string>;
  /** Whether the time since its source means anything. */
  readonly timed: boolean;
}

/** The jacks of a module that a lead is wanted at: its trigger inputs, and an envelope's output. */
export function probesOf(module: PatchModule): JackRef[] {
  const inputs = module.jacks.filter(
    (jack) => jack.direction === 'in' && jack.facts.trigger !== undefined,
  );
  const names = inputs.map(({ name }) => name);
  if (module.definition.course !== undefined) names.push('out');
  return names.map((jack) => ({ module: module.name, jack }));
}

const NO_TRIGGER = { on: false, rose: false, fell: false };

/** Tells whether volts have long been the same, so that their input has nothing more to notice. */
class Lead {
  private readonly volts: Float64Array;
  /** Samples after which an input has noticed what there is. */
  private readonly settling: number;
  private last = Number.NaN;
  private still = 0;

  constructor(volts: Float64Array, settling: number) {
    this.volts = volts;
    this.settling = settling;
  }

  /** Takes the first `count` samples of a block. */
  isStill(count: number): boolean {
    const { volts, last } = this;
    let i = 0;
    while (i < count && volts[i] === last) i++;
    const wasStill = this.still > this.settling;
    this.still = i === count ? this.still + count : 0;
    if (count > 0) this.last = volts[count - 1] as number;
    return wasStill && i === count;
  }
}

/** Listens at one module. */
export class Watcher {
  readonly name: string;
  /** Volts of an envelope's output, a block. */
  readonly out: Float64Array | undefined;
  private readonly inputs: readonly {
    readonly name: string;
    readonly jack: string;
    readonly input: TriggerInput;
    readonly volts: Float64Array;
    readonly lead: Lead;
    /** Undefined for an input without a plug. */
    readonly trigger: TriggerJack | undefined;
  }[];
  private readonly follower: Follower | undefined;
  private readonly phases: Phases | undefined;
  private readonly clock: TriggerInput | undefined;
  private readonly reset: TriggerInput | undefined;
  private readonly trigger: TriggerInput | undefined;
  private readonly cut: TriggerInput | undefined;
  private readonly origins: ReadonlySet<string>;
  private readonly isLed: boolean;

  constructor(
    module: PatchModule,
    triggers: readonly TriggerJack[],
    volts: readonly Float64Array[],
    peak: number,
    sampleRate: number,
  ) {
    this.name = module.name;
    let lead = 0;
    this.inputs = module.jacks.flatMap((jack) => {
      if (jack.direction !== 'in' || jack.facts.trigger === undefined) return [];
      const block = volts[lead++] as Float64Array;
      return [
        {
          name: jack.name,
          jack: jackName({ module: module.name, jack: jack.name }),
          input: triggerInput(jack.facts, sampleRate),
          volts: block,
          lead: new Lead(block, jack.facts.trigger.shortest * sampleRate),
          trigger: triggers.find((trigger) => trigger.jack === jack),
        },
      ];
    });
    const course = module.definition.course?.(module.settings);
    this.phases = course && new Phases(course, peak, sampleRate);
    this.out = course ? volts[lead] : undefined;
    this.follower = followerOf(module);
    this.clock = this.inputNamed('clock');
    this.reset = this.inputNamed('reset');
    this.trigger = this.inputNamed('trigger');
    this.cut = this.inputNamed('cut');
    const main = course ? 'trigger' : 'clock';
    const by = triggers.find(({ jack }) => jack.name === main);
    this.origins = by?.origins ?? new Set();
    this.isLed = by?.isLed === true;
  }

  /** Takes the first `count` samples of a block that starts at sample `from`. */
  read(from: number, count: number, heard: Heard[]): void {
    let isStill = true;
    for (const { lead } of this.inputs) isStill = lead.isStill(count) && isStill;
    // Most of the time nothing moves: then nothing is to be heard.
    if (isStill && (this.phases === undefined || this.phases.phase === 'rest')) return;
    const { inputs } = this;
    for (let i = 0; i < count; i++) {
      let moved = false;
      for (let k = 0; k < inputs.length; k++) {
        const { input, volts } = inputs[k] as (typeof inputs)[number];
        input.run(volts[i] as number);
        if (input.rose || input.fell) moved = true;
      }
      if (moved) this.hearInputs(from, i, heard);
      if (this.phases !== undefined) this.hearEnvelope(from, i, heard);
    }
  }

  private hearInputs(from: number, i: number, heard: Heard[]): void {
    for (const { input, jack, volts, trigger } of this.inputs) {
      if (trigger === undefined || !(input.rose || input.fell)) continue;
      heard.push({
        sample: from + i,
        jack,
        edge: input.rose ? 'on' : 'off',
        volts: volts[i] as number,
        origins: trigger.origins,
        timed: input.rose && !trigger.isLed,
      });
    }
    const clocked = this.clock?.rose === true;
    const reset = this.reset?.rose === true;
    if (this.follower === undefined || !(clocked || reset)) return;
    const position = this.follower.take(clocked, reset);
    if (position === undefined) return;
    heard.push({
      sample: from + i,
      jack: jackName({ module: this.name, jack: 'clock' }),
      edge: 'step',
      volts: this.inputs.find(({ name }) => name === 'clock')?.volts[i] ?? 0,
      position,
      origins: this.origins,
      timed: clocked && !this.isLed,
    });
  }

  private hearEnvelope(from: number, i: number, heard: Heard[]): void {
    const phases = this.phases as Phases;
    const volts = this.out?.[i] as number;
    if (!phases.take(volts, this.trigger ?? NO_TRIGGER, this.cut ?? NO_TRIGGER)) return;
    heard.push({
      sample: from + i,
      jack: jackName({ module: this.name, jack: 'out' }),
      edge: phases.phase,
      volts,
      origins: this.origins,
      timed: false,
    });
  }

  private inputNamed(name: string): TriggerInput | undefined {
    return this.inputs.find((one) => one.name === name)?.input;
  }
}
