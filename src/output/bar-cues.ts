/** The bars of a clip by name: those of its tempo, or of the pulses where all that it plays follows them. */

import type { Prepared } from '../engine/prepared.ts';
import type { TakeOptions } from '../engine/take.ts';
import { type BarCue, barCues } from '../timing/length.ts';
import { isFollowing, tempoLeaders } from '../timing/rhythm.ts';

/** Finds them while the clip is played: only its play tells when pulses come. */
export class BarCues {
  /** For the take: hears where bars begin. Undefined where the tempo tells. */
  readonly onStep: TakeOptions['onStep'];
  private readonly of: Prepared;
  /** Samples at which the bars begin first, in order. */
  private readonly heard = new Map<number, number>();

  constructor(of: Prepared) {
    this.of = of;
    const [leader] = tempoLeaders(of.patch);
    if (leader === undefined || !isFollowing(of.patch, leader)) return;
    this.onStep = ({ name }, sample, bar) => {
      if (name === leader.name && bar >= 1 && !this.heard.has(bar)) this.heard.set(bar, sample);
    };
  }

  /**
   * Gives them, of as much as has been played.
   * @param sampleRate Hz, that of the take.
   * @param frames of the music.
   */
  within(sampleRate: number, frames: number): readonly BarCue[] {
    if (this.onStep === undefined) return barCues(this.of.patch, sampleRate, frames);
    return [...this.heard]
      .map(([bar, sample]) => ({ sample, label: `Bar ${bar}` }))
      .filter(({ sample }) => sample < frames);
  }
}
