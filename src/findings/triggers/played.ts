/** What a rhythm module plays in a song, by output: from the same strokes and edges as the render. */

import { type GatePulse, union } from '../../modules/gates.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { edges, strokes } from '../../timing/edges.ts';
import type { Cause } from '../../timing/pulses.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { songSeconds } from '../../timing/song.ts';

/** s of a song that is looked at. */
const LONGEST = 600;
/** Strokes of a module that are looked at, and edges; a song with more repeats what it has. */
const ENOUGH = 6000;

/** A stroke that someone wrote down, whether or not a gate rises for it. */
export interface WrittenStroke {
  readonly sample: number;
  /** `module.jack` of the output that plays it. */
  readonly source: string;
  readonly cause: Cause;
  /** Bar and step of the pattern, both from 1. */
  readonly bar: number;
  readonly step: number;
}

/** What one output plays. */
export interface PlayedOutput {
  readonly pulses: readonly GatePulse[];
  readonly onsets: readonly WrittenStroke[];
  /** s of the song that this covers. */
  readonly seconds: number;
  /** Whether that is all of it. */
  readonly complete: boolean;
}

/** A rhythm module playing its song once. */
export class PlayedRhythm {
  private readonly module: PatchModule;
  private readonly seed: string;
  private readonly sampleRate: number;
  private channels: ReadonlyMap<string, PlayedOutput> | undefined;
  private others: ReadonlyMap<string, PlayedOutput> | undefined;

  /** @param sampleRate Hz, of the samples that it gives. */
  constructor(module: PatchModule, seed: string, sampleRate: number) {
    this.module = module;
    this.seed = seed;
    this.sampleRate = sampleRate;
  }

  /** What an output gives: a channel's gate, `clock`, `run` or `start`. */
  part(output: string): PlayedOutput {
    const { channels } = rhythmSettings(this.module.settings);
    if (channels.some(({ name }) => name === output)) {
      this.channels ??= this.playChannels();
      return this.channels.get(output) ?? NOTHING;
    }
    this.others ??= this.playOthers();
    return this.others.get(output) ?? NOTHING;
  }

  /** Pulses of a channel that touch or overlap are one, as they are at its jack. */
  private playChannels(): ReadonlyMap<string, PlayedOutput> {
    const { settings, options, whole } = this.performance();
    const names = settings.channels.map(({ name }) => name);
    const pulses = names.map((): GatePulse[] => []);
    const onsets = names.map((): WrittenStroke[] => []);
    const next = strokes(settings, options);
    const end = collect(next, ({ channel, sample, end: off, cause, bar, step }) => {
      pulses[channel]?.push({ start: sample, end: off });
      onsets[channel]?.push({
        sample,
        source: this.source(names[channel] ?? ''),
        cause,
        bar,
        step,
      });
    });
    const span = spanOf(end / options.sampleRate, options.until, whole);
    return new Map(
      names.map((name, i) => [
        name,
        { pulses: union([pulses[i] ?? []]), onsets: onsets[i] ?? [], ...span },
      ]),
    );
  }

  private playOthers(): ReadonlyMap<string, PlayedOutput> {
    const { settings, options, whole } = this.performance();
    const names = this.module.jacks.map(({ name }) => name);
    const pulses = names.map((): { start: number; end: number }[] => []);
    const onsets = names.map((): WrittenStroke[] => []);
    const next = edges(settings, options);
    const end = collect(next, ({ output, sample, volts, cause, bar, step }) => {
      const open = pulses[output]?.at(-1);
      if (volts > 0) {
        pulses[output]?.push({ start: sample, end: Number.POSITIVE_INFINITY });
        onsets[output]?.push({
          sample,
          source: this.source(names[output] ?? ''),
          cause,
          bar,
          step,
        });
      } else if (open !== undefined) open.end = sample;
    });
    const span = spanOf(end / options.sampleRate, options.until, whole);
    return new Map(
      names.map((name, i) => [name, { pulses: pulses[i] ?? [], onsets: onsets[i] ?? [], ...span }]),
    );
  }

  private performance() {
    const settings = rhythmSettings(this.module.settings);
    const whole = songSeconds(settings);
    const until = Math.min(whole, LONGEST);
    const { sampleRate, seed, module } = this;
    const options = { sampleRate, seed, module: module.name, until };
    return { settings, options, whole };
  }

  private source(output: string): string {
    return `${this.module.name}.${output}`;
  }
}

const NOTHING: PlayedOutput = { pulses: [], onsets: [], seconds: 0, complete: true };

/** Takes items until there are enough; all of the last sample's. Gives that sample, or Infinity at the end. */
function collect<T extends { readonly sample: number }>(
  next: () => T | undefined,
  take: (item: T) => void,
): number {
  let last = Number.POSITIVE_INFINITY;
  for (
    let item = next(), count = 1;
    item !== undefined && item.sample <= last;
    item = next(), count++
  ) {
    take(item);
    if (count === ENOUGH) last = item.sample;
  }
  return last;
}

function spanOf(end: number, until: number, whole: number): { seconds: number; complete: boolean } {
  if (end === Number.POSITIVE_INFINITY) return { seconds: until, complete: until === whole };
  return { seconds: end, complete: false };
}
