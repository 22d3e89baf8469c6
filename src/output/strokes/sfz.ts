/**
 * The text that tells a sampler which stroke is which note: SFZ, an open text format. A `<group>` a channel
 * has what its strokes have in common, a `<region>` is a file of one of them.
 *
 * Source: the published opcodes of SFZ version 1: sample, key, lovel, hivel, pitch_keycenter, loop_mode,
 * amp_veltrack, seq_length, seq_position, group, off_by (from memory). Headers and opcodes of later versions
 * are not used.
 */

import { inOneLine } from '../../text/printable.ts';
import { VELOCITY } from '../score/midi-file.ts';
import { STRENGTHS, type Strength } from './struck.ts';

/** What one note plays. */
export interface SfzChannel {
  /** For a reader, such as `snare`. */
  readonly name: string;
  /** MIDI, 0 to 127. */
  readonly note: number;
  /** Its number among the notes that end others or are ended; absent for one that is neither. */
  readonly group?: number;
  /** That of what ends it. */
  readonly endedBy?: number;
  /** By strength, the files of strokes that take turns; none of a strength that is silent. */
  readonly layers: readonly { readonly strength: Strength; readonly files: readonly string[] }[];
}

const HIGHEST = 127;

/** Writes it. @param about what is said at its head, a line each. */
export function sfzText(about: readonly string[], channels: readonly SfzChannel[]): string {
  const head = about.map((line) => `// ${inOneLine(line)}`);
  return `${[...head, ...channels.flatMap((channel) => ['', ...groupOf(channel)])].join('\n')}\n`;
}

function groupOf({ name, note, group, endedBy, layers }: SfzChannel): readonly string[] {
  const shared = [
    `key=${note}`,
    `pitch_keycenter=${note}`,
    'loop_mode=one_shot',
    // The files are as loud as the strokes are; a sampler must not make the soft ones softer.
    'amp_veltrack=0',
    ...(group === undefined ? [] : [`group=${group}`]),
    ...(endedBy === undefined ? [] : [`off_by=${endedBy}`]),
  ];
  const ranges = velocityRanges(layers.map(({ strength }) => strength));
  const regions = layers.flatMap(({ strength, files }) => {
    const [low, high] = ranges.get(strength) as readonly [number, number];
    return files.map((file, index) => {
      const turn =
        files.length === 1 ? '' : ` seq_length=${files.length} seq_position=${index + 1}`;
      return `<region> sample=${file} lovel=${low} hivel=${high}${turn}`;
    });
  });
  return [`// ${inOneLine(name)}`, `<group> ${shared.join(' ')}`, ...regions];
}

/**
 * Divides the velocities among strengths: each reaches half way to the next one's velocity in a MIDI file of
 * `timing`, and the outer ones to the ends.
 */
function velocityRanges(
  strengths: readonly Strength[],
): ReadonlyMap<Strength, readonly [low: number, high: number]> {
  const present = STRENGTHS.filter((one) => strengths.includes(one));
  let low = 0;
  return new Map(
    present.map((strength, index) => {
      const next = present[index + 1];
      const high =
        next === undefined ? HIGHEST : Math.floor((VELOCITY[strength] + VELOCITY[next]) / 2);
      const range = [low, high] as const;
      low = high + 1;
      return [strength, range];
    }),
  );
}
