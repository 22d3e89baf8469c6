/**
 * The gates, the clock, run and start of a patch's rhythm sequencers as volts in a WAV file, one
 * channel a jack, for an interface whose outputs pass direct current:
 *
 *   sample = volts x calibration / full scale
 *
 * `full scale` is what the interface gives at digital full scale; `calibration` is volts wanted over
 * volts measured with a meter, 1 for an interface that keeps its word. The file ends at 0 V.
 */

import { sentEdges } from '../../engine/trace.ts';
import { jackName, type Patch } from '../../patch/patch.ts';
import { openWav } from '../../wav/wav-file.ts';

export interface GatesOptions {
  readonly path: string;
  /** Hz. */
  readonly sampleRate: number;
  /** s. */
  readonly seconds: number;
  /** V. */
  readonly fullScale: number;
  readonly calibration: number;
}

export interface GatesFile {
  readonly path: string;
  /** Jacks in the order of the file's channels. */
  readonly jacks: readonly string[];
  readonly frames: number;
  /** The highest sample, 1 being full scale. */
  readonly peak: number;
}

/** More than the interface can give: the message has the numbers. */
export class TooManyVolts extends Error {}

export const CAUTION =
  'Gates and clock are direct current: never send them to headphones, loudspeakers or a line that is ' +
  'not made for it. Check what your instrument bears first, and measure before you plug in.';

/** Frames written at once. */
const PIECE = 4096;
/** Between two looks at signals such as Ctrl-C, ms. */
const BREATH = 50;

/**
 * Writes the file.
 * @throws TooManyVolts if a jack's volts are above full scale; OutputError if the file cannot be
 *   written.
 */
export async function writeGates(patch: Patch, options: GatesOptions): Promise<GatesFile> {
  const { path, sampleRate, seconds, fullScale, calibration } = options;
  const scale = calibration / fullScale;
  const jacks = patch.modules.flatMap(({ name, definition, jacks: all }) =>
    definition.role !== 'score'
      ? []
      : all.flatMap((jack) => {
          if (jack.direction !== 'out' || jack.signal !== 'gate') return [];
          const high = jack.facts.type === 'voltage' ? jack.facts.high : 0;
          return [{ name: jackName({ module: name, jack: jack.name }), high }];
        }),
  );
  const highest = jacks.reduce((most, { high }) => Math.max(most, high), 0);
  if (highest * scale > 1)
    throw new TooManyVolts(
      `${highest} V x ${calibration} is more than the interface gives at full scale, ${fullScale} V. ` +
        'Set the level of the rhythm lower, or --full-scale to what the interface really gives.',
    );
  const names = jacks.map(({ name }) => name);
  const channelOf = new Map(names.map((name, channel) => [name, channel]));
  const writer = await openWav(path, {
    sampleRate,
    channels: jacks.length,
    depth: '24',
    title: `${patch.title}: gates and clock`,
    comment: `${CAUTION} Channels: ${names.join(', ')}. Full scale is ${fullScale} V, calibration ${calibration}.`,
  });
  try {
    const signals = names.map(() => new Float64Array(PIECE));
    const levels = new Float64Array(names.length);
    let start = 0;
    let breath = Date.now() + BREATH;
    const advance = async (to: number): Promise<void> => {
      while (start < to) {
        const count = Math.min(PIECE, to - start);
        signals.forEach((signal, channel) => {
          signal.fill((levels[channel] as number) * scale, 0, count);
        });
        writer.write(signals, count);
        start += count;
        if (Date.now() < breath) continue;
        await new Promise((resume) => setImmediate(resume));
        breath = Date.now() + BREATH;
      }
    };
    for (const { sample, jack, volts } of sentEdges(patch, { sampleRate, seconds })) {
      const channel = channelOf.get(jack);
      if (channel === undefined) continue;
      await advance(sample);
      levels[channel] = volts;
    }
    // One sample more, so that what falls last is seen to have fallen.
    await advance(Math.max(Math.round(seconds * sampleRate), start + 1));
    await writer.finish();
    return { path, jacks: names, frames: start, peak: highest * scale };
  } catch (error) {
    writer.abandon();
    throw error;
  }
}
