/**
 * Volts of a patch in a WAV file, one channel a jack, for an interface whose outputs pass direct current:
 *
 *   sample = volts x calibration / full scale
 *
 * `full scale` is what the interface gives at digital full scale; `calibration` is volts wanted over
 * volts measured with a meter, 1 for an interface that keeps its word. What a rhythm sequencer sends is
 * written as it sends it; the volts of other modules as they stand on their wires, with what is plugged
 * in. The file ends at 0 V.
 */

import { type Prepared, prepared } from '../../engine/prepared.ts';
import { BLOCK, Renderer } from '../../engine/renderer.ts';
import { sentEdges } from '../../engine/trace.ts';
import { type JackRef, jackName, type Patch } from '../../patch/patch.ts';
import { openWav } from '../../wav/wav-file.ts';

export interface GatesOptions {
  readonly path: string;
  /** Hz. */
  readonly sampleRate: number;
  /** s. */
  readonly seconds: number;
  /** V. */
  readonly fullScale: number;
  /** One for all channels, or one a channel. */
  readonly calibration: number | readonly number[];
  /** Outputs in the order of the channels; the rhythms' gates, clocks, runs and starts unless given. */
  readonly jacks?: readonly JackRef[];
}

export interface GatesFile {
  readonly path: string;
  readonly channels: readonly GatesChannel[];
  readonly frames: number;
  /** The highest sample, 1 being full scale. */
  readonly peak: number;
}

export interface GatesChannel {
  readonly jack: string;
  /** V at the jack, before calibration. */
  readonly leastVolts: number;
  readonly mostVolts: number;
  readonly calibration: number;
}

/** More than the interface can give: the message has the numbers. */
export class TooManyVolts extends Error {}

export const CAUTION =
  'Gates and clock are direct current: never send them to headphones, loudspeakers or a line that is ' +
  'not made for it. Check first what your instrument can take, and measure before you plug in.';

/** Frames written at once. */
const PIECE = 4096;
/** Between two looks at signals such as Ctrl-C, ms. */
const BREATH = 50;

/**
 * Writes the file.
 * @throws TooManyVolts if a jack's volts are beyond full scale; OutputError if the file cannot be
 *   written. There is then no file.
 */
export async function writeGates(of: Patch | Prepared, options: GatesOptions): Promise<GatesFile> {
  const all = prepared(of);
  const { patch } = all;
  const { path, sampleRate, seconds, fullScale, calibration } = options;
  const jacks = options.jacks ?? gatesIn(patch);
  const names = jacks.map(jackName);
  const factors = names.map((_, channel) =>
    typeof calibration === 'number' ? calibration : (calibration[channel] as number),
  );
  const writer = await openWav(path, {
    sampleRate,
    channels: jacks.length,
    depth: '24',
    title: `${patch.title}: ${options.jacks === undefined ? 'gates and clock' : 'volts'}`,
    comment: `${CAUTION} Channels: ${names.join(', ')}. Full scale is ${fullScale} V, calibration ${[calibration].flat().join(', ')}.`,
  });
  try {
    const signals = names.map(() => new Float64Array(PIECE));
    /** The volts that a rhythm sends, which stay until its next edge; undefined where a module is listened to. */
    const levels: (number | undefined)[] = jacks.map((jack) =>
      isSent(patch, jack) ? 0 : undefined,
    );
    const played = levels.includes(undefined)
      ? new VoltsInOrder(all, jacks, { sampleRate, seconds })
      : undefined;
    const least = new Float64Array(names.length).fill(Number.POSITIVE_INFINITY);
    const most = new Float64Array(names.length).fill(Number.NEGATIVE_INFINITY);
    let peak = 0;
    let start = 0;
    let breath = Date.now() + BREATH;
    const advance = async (to: number): Promise<void> => {
      while (start < to) {
        const count = Math.min(PIECE, to - start);
        played?.read(signals, count);
        signals.forEach((signal, channel) => {
          const level = levels[channel];
          if (level !== undefined) signal.fill(level, 0, count);
          const factor = factors[channel] as number;
          let low = least[channel] as number;
          let high = most[channel] as number;
          let largest = peak;
          for (let n = 0; n < count; n++) {
            const volts = signal[n] as number;
            const sample = (volts * factor) / fullScale;
            signal[n] = sample;
            low = Math.min(low, volts);
            high = Math.max(high, volts);
            largest = Math.max(largest, Math.abs(sample));
            if (largest > 1) throw tooMany(names[channel] as string, { volts, factor, fullScale });
          }
          peak = largest;
          least[channel] = low;
          most[channel] = high;
        });
        writer.write(signals, count);
        start += count;
        if (Date.now() < breath) continue;
        await new Promise((resume) => setImmediate(resume));
        breath = Date.now() + BREATH;
      }
    };
    const channelOf = new Map(names.map((name, channel) => [name, channel]));
    for (const { sample, jack, volts } of sentEdges(all, { sampleRate, seconds })) {
      const channel = channelOf.get(jack);
      if (channel === undefined) continue;
      await advance(sample);
      levels[channel] = volts;
    }
    await advance(Math.max(Math.round(seconds * sampleRate), start));
    // Gates of rhythms have fallen by now, an accent may be held; the volts of modules end here.
    levels.forEach((_, channel) => {
      levels[channel] = 0;
    });
    await advance(start + 1);
    await writer.finish();
    const channels = names.map((jack, channel) => ({
      jack,
      leastVolts: least[channel] as number,
      mostVolts: most[channel] as number,
      calibration: factors[channel] as number,
    }));
    return { path, channels, frames: start, peak };
  } catch (error) {
    writer.abandon();
    throw error;
  }
}

/** The outputs that a file has unless others are named. */
export function gatesIn(patch: Patch): readonly JackRef[] {
  return patch.modules.flatMap(({ name, definition, jacks }) =>
    definition.role !== 'score'
      ? []
      : jacks
          .filter((jack) => jack.direction === 'out' && jack.signal === 'gate')
          .map((jack) => ({ module: name, jack: jack.name })),
  );
}

function isSent(patch: Patch, { module }: JackRef): boolean {
  return patch.modules.find(({ name }) => name === module)?.definition.role === 'score';
}

function tooMany(
  jack: string,
  { volts, factor, fullScale }: { volts: number; factor: number; fullScale: number },
): TooManyVolts {
  return new TooManyVolts(
    `${jack}: ${Number(volts.toPrecision(4))} V x ${factor} is more than the interface gives at full scale, ${fullScale} V. ` +
      'Set the level there lower, or --full-scale to what the interface really gives.',
  );
}

/** The volts of jacks while a patch is played, read in order; 0 V after its end. */
class VoltsInOrder {
  private readonly renderer: Renderer;
  private readonly frames: number;
  /** Frames given so far. */
  private given = 0;

  constructor(
    of: Prepared,
    jacks: readonly JackRef[],
    { sampleRate, seconds }: { readonly sampleRate: number; readonly seconds: number },
  ) {
    this.frames = Math.round(seconds * sampleRate);
    this.renderer = new Renderer(of, {
      sampleRate,
      probes: jacks,
      until: seconds,
    });
  }

  read(into: readonly Float64Array[], count: number): void {
    const { renderer, frames } = this;
    for (let done = 0; done < count; ) {
      if (this.given === renderer.position && this.given < frames) renderer.next();
      const from = this.given % BLOCK;
      const some =
        this.given < frames
          ? Math.min(count - done, BLOCK - from, frames - this.given)
          : count - done;
      into.forEach((volts, channel) => {
        if (this.given >= frames) volts.fill(0, done, done + some);
        else
          volts.set((renderer.probes[channel] as Float64Array).subarray(from, from + some), done);
      });
      done += some;
      this.given += some;
    }
  }
}
