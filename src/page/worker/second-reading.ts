/**
 * A setting's value in another form: for notes the volts, for volts the note, and for a time or a
 * frequency that volts control, the value that one volt gives.
 */

import type { NumberSpec, RowSpec } from '../../modules/definition.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { formatBriefly } from '../../patch/units.ts';

/** The twelve semitones from C, as they are most often called. */
const NAMES = ['C', 'C#', 'D', 'Eb', 'E', 'F', 'F#', 'G', 'Ab', 'A', 'Bb', 'B'];
/** C2 in equal temperament: 440 Hz x 2^(-33/12). */
const C2_HERTZ = 440 * 2 ** (-33 / 12);
/** A difference in cents that no ear hears. */
const NEAR = 0.5;

interface SecondReading {
  readonly reading?: string;
}

/** @returns an empty reading for a row that is not a pitch. */
export function rowReading(values: readonly number[], { unit }: RowSpec): SecondReading {
  if (unit !== 'pitch') return {};
  const all = values.map((volts) => `${noteAt(volts)} ${formatBriefly(volts, 'voltage')}`);
  return { reading: all.join(', ') };
}

/** @returns an empty reading where no cable brings volts that control it. */
export function movedReading(
  value: number,
  { type, moved }: NumberSpec,
  { name, settings }: PatchModule,
  { cables }: Patch,
): SecondReading {
  if (moved === undefined) return {};
  const { jack, amount, halved } = moved;
  const isPlugged = cables.some(({ to }) => to.module === name && to.jack === jack);
  const octaves = (amount === undefined ? 1 : (settings[amount] as number)) * (halved ? -1 : 1);
  if (!isPlugged || octaves === 0) return {};
  const at = formatBriefly(value * 2 ** octaves, type);
  // If a volt is an octave, the value stands for a note.
  const note =
    type === 'frequency' && amount === undefined ? `${noteAt(Math.log2(value / C2_HERTZ))}; ` : '';
  return { reading: `${note}${at} with 1 V at ${jack}` };
}

/** The nearest note, as `Eb2` or `E2 −40 cents`; 0 V is C2. */
function noteAt(volts: number): string {
  const semitone = Math.round(volts * 12);
  const octave = Math.floor(semitone / 12);
  const cents = volts * 1200 - semitone * 100;
  const off =
    Math.abs(cents) < NEAR
      ? ''
      : ` ${cents < 0 ? '−' : '+'}${counted(Math.round(Math.abs(cents)), 'cent')}`;
  return `${NAMES[semitone - 12 * octave]}${octave + 2}${off}`;
}
