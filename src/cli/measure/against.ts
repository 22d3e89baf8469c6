/** What `forehear measure A --against B` prints: how far a hit is from a reference, as text, data and a map. */

import { type Defect, whyNoHit } from '../../measure/defects.ts';
import {
  type ComparedHit,
  differingFrames,
  type Likeness,
  LikenessError,
  likenessOf,
} from '../../measure/likeness/likeness.ts';
import type { Sound } from '../../measure/likeness/mono.ts';
import { type Mends, mendedOf } from '../../measure/mended.ts';
import { WavFile } from '../../wav/read-wav.ts';
import { Stop, wrongFile } from '../exit.ts';
import { metDefects } from '../reports/met-defects.ts';
import { table, wrapped } from '../table.ts';
import { unreadableWav } from '../unreadable-wav.ts';
import { type MeasuredFile, measuredFile } from './measured-file.ts';

/** The most of a recording that is looked at, s. */
const LONGEST = 60;

export interface ComparedHits {
  readonly file: string;
  readonly against: string;
  readonly likeness: Likeness;
  /** Whether only the first minute of one of the two was looked at. */
  readonly isLonger: boolean;
  /** What each of the two suffers from. */
  readonly defects: { readonly file: readonly Defect[]; readonly against: readonly Defect[] };
  /** Drift and hum that were taken out of each. */
  readonly mends: { readonly file: Mends | undefined; readonly against: Mends | undefined };
}

/**
 * Compares two WAV files.
 * @param onRead called once both are read, before they are measured.
 * @throws Stop naming the one that cannot be compared.
 */
export async function compared(
  file: string,
  against: string,
  { isQuiet, onRead }: { readonly isQuiet: boolean; readonly onRead: () => void },
): Promise<ComparedHits> {
  const wanted = { isQuiet, tempo: false, hitSpectra: false };
  // A file that cannot be compared at all is refused before the other is measured.
  const [heard, other] = [soundOf(file), soundOf(against)];
  onRead();
  const [sound, reference] = [
    mendedSound(heard, await measuredFile(file, wanted)),
    mendedSound(other, await measuredFile(against, wanted)),
  ];
  const defects = { file: sound.defects, against: reference.defects };
  try {
    return {
      file,
      against,
      likeness: likenessOf(sound.sound, reference.sound),
      isLonger: heard.isLonger || other.isLonger,
      defects,
      mends: { file: sound.mends, against: reference.mends },
    };
  } catch (error) {
    if (!(error instanceof LikenessError)) throw error;
    const [wrong, its] =
      error.which === 'sound' ? [file, defects.file] : [against, defects.against];
    const why = whyNoHit(its) || GIVE;
    throw wrongFile(wrong, `${error.message}. ${why}`);
  }
}

/** What helps where a recording has no fault of its own. */
const GIVE = 'Give a recording of a hit, well above its noise.';

interface SoundRead {
  readonly sound: Sound;
  readonly isLonger: boolean;
}

/** The same without the drift and hum that were measured in it. */
function mendedSound(
  { sound }: SoundRead,
  { measures, defects }: MeasuredFile,
): { readonly sound: Sound; readonly defects: readonly Defect[]; readonly mends?: Mends } {
  const { sampleRate, channels } = sound;
  const whole = [{ channels, frames: channels[0]?.length ?? 0 }];
  const mended = mendedOf(whole, { ...measures, sampleRate, channels: channels.length });
  if (mended === undefined) return { sound, defects };
  const [{ channels: without } = { channels }] = mended.blocks(whole);
  return { sound: { sampleRate, channels: without }, defects, mends: mended.mends };
}

function soundOf(file: string): SoundRead {
  let wav: WavFile | undefined;
  try {
    wav = new WavFile(file);
    const { sampleRate, channels, layout } = wav;
    if (sampleRate < 8000)
      throw wrongFile(
        file,
        `its sample rate is ${sampleRate} Hz, and hits are compared from 8000 Hz on. Convert it.`,
      );
    const frames = Math.min(layout.frames, LONGEST * sampleRate);
    const all = Array.from({ length: channels }, () => new Float64Array(frames));
    let at = 0;
    for (const block of wav.blocks) {
      const count = Math.min(block.frames, frames - at);
      all.forEach((channel, index) => {
        channel.set((block.channels[index] as Float64Array).subarray(0, count), at);
      });
      at += count;
      if (at >= frames) break;
    }
    return { sound: { sampleRate, channels: all }, isLonger: layout.frames > frames };
  } catch (error) {
    throw error instanceof Stop ? error : unreadableWav(error, file);
  } finally {
    wav?.close();
  }
}

/** The shape that scripts rely on. */
export function comparedData({ file, against, likeness, defects, mends }: ComparedHits): object {
  const mended = { file: mends.file ?? null, against: mends.against ?? null };
  return { file, against, defects, mended, ...likeness };
}

/** Rows of the table of times: each is the mean of several frames. */
const ROWS = 12;

export function comparedText({
  file,
  against,
  likeness,
  isLonger,
  defects,
  mends,
}: ComparedHits): string {
  const { db, bandsDb, tonalityDb, pitchDb, gainDb, byBand, byTime, hit, reference } = likeness;
  const frames = differingFrames(likeness);
  const faults = [
    ...faultLines(file, defects.file, mends.file),
    ...faultLines(against, defects.against, mends.against),
  ];
  const step = Math.max(1, Math.ceil(frames / ROWS));
  const spans = Array.from({ length: Math.ceil(frames / step) }, (_, index) =>
    byTime.slice(index * step, Math.min(frames, (index + 1) * step)),
  );
  const end = Math.round(1000 * (byTime[frames - 1]?.time ?? 0)) + 10;
  const mean = (span: typeof byTime, of: 'db' | 'louderDb'): number =>
    span.reduce((sum, one) => sum + one[of], 0) / span.length;
  const lines = [
    `${file} against ${against}: ${db.toFixed(2)} dB apart`,
    `  third octaves over time ${bandsDb.toFixed(2)} dB, tonality ${tonalityDb.toFixed(2)} dB, pitch ${pitchDb.toFixed(2)} dB`,
    `  ${hitWords(hit, file)} beside ${hitWords(reference, against)}; its level changed by ${signed(gainDb)} dB to be compared`,
    ...(faults.length === 0 ? [] : ['', ...faults]),
    '',
    table(
      [
        ['band, Hz', 'apart, dB', 'to be added, dB'],
        ...byBand.map(({ nominalHz, db: apart, louderDb }) => [
          String(nominalHz),
          apart.toFixed(1),
          signed(louderDb),
        ]),
      ],
      2,
    ),
    '',
    table(
      [
        ['time, ms', 'apart, dB', 'to be added, dB'],
        ...spans.map((span) => [
          `${Math.round(1000 * (span[0]?.time ?? 0))} to ${Math.round(1000 * (span.at(-1)?.time ?? 0)) + 10}`,
          mean(span, 'db').toFixed(1),
          signed(mean(span, 'louderDb')),
        ]),
      ],
      2,
    ),
  ];
  if (frames < byTime.length) lines.push('', `  From ${end} ms on, nothing differs.`);
  if (isLonger) lines.push('', `  Of the longer file the first ${LONGEST} s were looked at.`);
  return lines.join('\n');
}

function faultLines(
  file: string,
  defects: readonly Defect[],
  mends: Mends | undefined,
): readonly string[] {
  const isCut = defects.some(({ kind }) => kind === 'cut-end');
  return [
    ...(isCut
      ? [`${file} breaks off before it has died away: nothing after that is compared.`]
      : []),
    ...metDefects(defects, { it: file, file, mends }),
  ].map(wrapped);
}

function hitWords({ index, of, time }: ComparedHit, file: string): string {
  return of === 1
    ? `the hit of ${file} at ${time.toFixed(3)} s`
    : `hit ${index + 1} of ${of} of ${file} at ${time.toFixed(3)} s`;
}

function signed(value: number): string {
  const text = value.toFixed(1);
  return value > 0 && text !== '0.0' ? `+${text}` : text === '-0.0' ? '0.0' : text;
}
