/** What stands between the circuits of a module and its jacks, where a rack says what the jacks give. */

import type { Handle, Jack } from '../modules/definition.ts';
import { exp, log } from '../modules/dsp/math.ts';
import type { OutputFacts, OutputStage } from '../modules/facts.ts';
import type { Machine } from './machine.ts';

interface Staged {
  readonly facts: OutputFacts;
  readonly stage: OutputStage;
  /** What the circuit fills, and what the jack drives. */
  readonly from: Handle;
  readonly to: Handle;
}

export class OutputStages {
  private readonly machine: Machine;
  private readonly sampleRate: number;
  private readonly staged = new Map<string, Staged>();

  constructor(machine: Machine, sampleRate: number) {
    this.machine = machine;
    this.sampleRate = sampleRate;
  }

  /** The wire for a circuit to fill that stands behind an output jack: the jack's own, or one before its stage. */
  before(jack: Jack | undefined, to: Handle | undefined): Handle | undefined {
    if (to === undefined || jack?.direction !== 'out') return to;
    const { facts, name } = jack;
    if (facts.stage === undefined) return to;
    const made = this.staged.get(name) ?? {
      facts,
      stage: facts.stage,
      from: this.machine.wire(),
      to,
    };
    this.staged.set(name, made);
    return made.from;
  }

  /** Puts the stages in, once the module's circuits are. */
  complete(): void {
    for (const { facts, stage, from, to } of this.staged.values()) {
      const [low, high] = facts.type === 'switch' ? [0, 1] : [facts.low, facts.high];
      const length = pulseLength(stage, this.sampleRate);
      const share = shareOf(stage, this.sampleRate);
      const { low: fromLow, high: fromHigh } = stage.from;
      this.machine.make('outputStage', from, to, fromLow, fromHigh, low, high, length, share);
    }
  }
}

/** Samples that a pulse lasts; 0 for as long as the circuit makes it. */
export function pulseLength({ width }: OutputStage, sampleRate: number): number {
  return width === 0 ? 0 : Math.max(1, Math.round(width * sampleRate));
}

/** What a sample takes of the way to a level; 1 for all of it. */
export function shareOf({ rise }: OutputStage, sampleRate: number): number {
  return rise === 0 ? 1 : 1 - exp(-log(9) / (rise * sampleRate));
}
