/**
 * Everything that is measured of a recording, taken in block by block, in memory that does not grow with its length.
 */

import { EventMeter, type Events, type WantedMeasures } from './hits/events.ts';
import type { LoudnessStep } from './loudness/gates.ts';
import { type Overall, OverallMeter, type WantedLoudness } from './overall.ts';
import type { SampleBlock, SampleSource } from './samples.ts';

/** All that is measured: of the whole, and hit by hit. */
export type Measures = Overall & Events;

/**
 * Measures a recording.
 * @returns see {@link Measures}; for a recording without samples, everything that can be null is null.
 * @throws RangeError if the sample rate is not from 1 kHz to 1 MHz, or there is no channel;
 * Error naming the frame if a sample is not a finite number.
 */
export async function measureSignal(source: SampleSource): Promise<Measures> {
  const { sampleRate, channels, weights } = source;
  const meter = new SignalMeter(sampleRate, channels, { weights });
  for await (const block of source.blocks) meter.add(block);
  return meter.finish();
}

type Options = Partial<WantedMeasures> & WantedLoudness;

/** The same, for samples that are handed over as they are made. */
export class SignalMeter {
  private readonly overall: OverallMeter;
  private readonly events: EventMeter;

  /**
   * @param sampleRate Hz.
   * @param options everything is measured unless they leave it out.
   * @throws RangeError if the sample rate is not from 1 kHz to 1 MHz, or there is no channel.
   */
  constructor(sampleRate: number, channels: number, options: Options = {}) {
    this.overall = new OverallMeter(sampleRate, channels, options);
    this.events = new EventMeter(sampleRate, channels, options);
  }

  /**
   * Takes in a block of any length, 1.0 being full scale; how the samples are split changes nothing.
   * @throws Error naming the frame if a sample is not a finite number.
   */
  add(block: SampleBlock): void {
    // The first of the two checks that all samples are numbers.
    this.overall.add(block);
    this.events.add(block);
  }

  /** Ends the recording. @returns what `measureSignal` gives. */
  finish(): Measures {
    return { ...this.overall.finish(), ...this.events.finish() };
  }

  /**
   * Gives its loudness at every gain, for `equalLoudness`: the steps that it takes besides the gain itself.
   * @param measures what `finish` gave.
   */
  loudnessSteps({ loudnessLufs }: Pick<Measures, 'loudnessLufs'>): readonly LoudnessStep[] {
    return this.overall.loudnessSteps(loudnessLufs);
  }
}
