/** Which of a recording's figures cannot be trusted, and what to do about it. */

import { driftShows, leastShown } from './condition.ts';
import { percentage } from './doubt.ts';
import { burstsOf } from './hits/bursts.ts';
import { FEWEST_STEPS } from './hits/hits.ts';
import type { Mends } from './mended.ts';
import type { Measures } from './signal.ts';

/** One thing that is wrong with a recording. */
export interface Defect {
  readonly kind:
    | 'silent' // nothing, or nothing but a floor
    | 'no-hit' // it sounds, but there is no onset
    | 'too-short' // for a decay and a pitch
    | 'cut-start' // it begins in the middle of a sound
    | 'cut-end' // it ends before its sound has died away
    | 'clipped' // flat tops
    | 'offset' // its level at rest is not zero
    | 'drift' // its level at rest wanders
    | 'hum' // a steady line of the mains
    | 'opposed' // one channel is another one inverted
    | 'silent-channel' // one of several is empty
    | 'coarse'; // few bits, or few of its steps used
  /** The fault, its size, and what helps. */
  readonly message: string;
}

/** Softer than this is a floor, dBFS. */
const FLOOR_DB = -70;
const NO_HIT =
  'it sounds, but nothing in it begins like a hit. Record a hit with a little silence before it.';
/** Shorter than this has neither decay nor pitch, s. */
const SHORTEST = 0.02;
const FEW_BITS = 8;

/**
 * Looks through the measures of a recording.
 * @param bits of a sample; 0 for floating point, or where it is not known.
 * @param mends the drift and hum that were removed before its hits were measured.
 * @returns none for a recording without faults.
 */
export function defectsOf(measures: Measures, bits: number, mends?: Mends): readonly Defect[] {
  const { peakDbfs, onsets, seconds } = measures;
  if (peakDbfs === null)
    return [
      { kind: 'silent', message: 'silence: every sample is 0. Was the right input recorded?' },
    ];
  if (peakDbfs < FLOOR_DB && onsets.length === 0)
    return [
      {
        kind: 'silent',
        message: `only a noise floor: its peak is ${peakDbfs.toFixed(0)} dBFS, and no hit begins. Record it louder.`,
      },
    ];
  const found: Defect[] = [];
  if (seconds < SHORTEST)
    found.push({
      kind: 'too-short',
      message: `${(1000 * seconds).toFixed(1)} ms long: too short for a decay and a pitch. Record the hit until it has died away.`,
    });
  else if (onsets.length === 0)
    found.push({
      kind: 'no-hit',
      message: `no hit: ${NO_HIT}`,
    });
  return [
    ...found,
    ...cut(measures),
    ...clipped(measures, bits),
    ...steady(measures, mends),
    ...channels(measures),
    ...few(bits, peakDbfs),
  ];
}

/** Why no hit was found, in sentences; empty where the recording has no fault. */
export function whyNoHit(defects: readonly Defect[]): string {
  const told = defects.map((defect) => (defect.kind === 'no-hit' ? { message: NO_HIT } : defect));
  return defectSentences(told).join(' ');
}

/** Each as a sentence of its own. */
export function defectSentences(defects: readonly Pick<Defect, 'message'>[]): readonly string[] {
  return defects.map(({ message }) => `${message.charAt(0).toUpperCase()}${message.slice(1)}`);
}

/** What is not there at either end. A loop, or a take of many hits, may end in the tail of its last. */
function cut({ hits, condition, peakDbfs }: Measures): Defect[] {
  const found: Defect[] = [];
  // A level that wanders at the start looks like a sound, and is told.
  if (hits[0]?.reasons.attack === 'cut-start' && !driftShows(condition, peakDbfs))
    found.push({
      kind: 'cut-start',
      message:
        'cut at its start: it begins in the middle of a sound. If that is a hit cut tightly, its attack is not there; if it is the rest of one, peak, falls and colour are those of the rest. Record it with a little silence before it.',
    });
  const last = hits.at(-1);
  const isAlone = burstsOf(hits).length === 1;
  if (last !== undefined && isAlone && last.reasons.down40 === 'cut-short')
    found.push({
      kind: 'cut-end',
      message: `cut at its end: it breaks off before it has fallen by ${last.reasons.down20 === 'cut-short' ? 20 : 40} dB. What is told of its fall follows from what is there; record it until it has died away.`,
    });
  return found;
}

function clipped({ hits, peakDbfs }: Measures, bits: number): Defect[] {
  const step = bits === 0 ? 0 : 2 ** (1 - bits);
  const count = hits.filter(
    (hit) =>
      [hit.reasons.attack, hit.reasons.decay].includes('clipped') &&
      10 ** (hit.peakDbfs / 20) >= FEWEST_STEPS * step,
  ).length;
  if (count === 0 || peakDbfs === null) return [];
  return [
    {
      kind: 'clipped',
      message: `clipped: flat tops in ${count} of ${hits.length} hits, the highest at ${peakDbfs.toFixed(1)} dBFS. Attacks, levels and colour are not those of the sound; record it softer.`,
    },
  ];
}

/** Which figures are measured without the fault, and which with it. */
const TAKEN_OUT =
  "It is taken out of the hits' figures, not of peak, crest, spectrum and loudness.";

function steady({ condition, peakDbfs }: Measures, mends: Mends | undefined): Defect[] {
  const { restOffset, drift, hum } = condition;
  const found: Defect[] = [];
  // A recording that drifts also has an offset somewhere: only the drift is reported.
  if (driftShows(condition, peakDbfs))
    found.push({
      kind: 'drift',
      message: `drift: the level it rests at wanders by ${percentage(drift, 1)} of full scale, which hides falls and may look like an onset. ${
        mends?.drift
          ? TAKEN_OUT
          : 'Take out what is under 20 Hz with a high-pass and measure again.'
      }`,
    });
  else if (Math.abs(restOffset) > leastShown(peakDbfs))
    found.push({
      kind: 'offset',
      message: `offset: it rests at ${percentage(restOffset, 1)} of full scale. It is taken out of the hits' figures, not of peak, crest and loudness.`,
    });
  if (hum !== null)
    found.push({
      kind: 'hum',
      message: `hum: a steady line at ${hum.hz} Hz, ${hum.dbfs.toFixed(0)} dBFS, as mains of ${hum.mainsHz} Hz make. ${humWords(mends)}`,
    });
  return found;
}

function humWords(mends: Mends | undefined): string {
  const [first, ...others] = mends?.hum ?? [];
  if (first === undefined) return 'Pitches, and falls below it, may be its own.';
  if (others.length === 0) return TAKEN_OUT;
  return `With it at ${mends?.hum.map(({ hz }) => hz.toFixed(0)).join(', ')} Hz. ${TAKEN_OUT}`;
}

function channels({ condition, channels: count }: Measures): Defect[] {
  const found: Defect[] = [];
  const { opposedChannels, silentChannels } = condition;
  for (const channel of opposedChannels)
    found.push({
      kind: 'opposed',
      message: `opposite phase: channel ${channel} runs against channel 1, so that in mono they take each other out. It is turned over for the hits.`,
    });
  for (const channel of silentChannels)
    found.push({
      kind: 'silent-channel',
      message: `channel ${channel} of ${count} is silent: the hits' peaks are those of the mean of all.`,
    });
  return found;
}

function few(bits: number, peakDbfs: number): Defect[] {
  if (bits === 0) return [];
  const steps = 10 ** (peakDbfs / 20) * 2 ** (bits - 1);
  if (bits > FEW_BITS)
    return steps >= FEWEST_STEPS
      ? []
      : [
          {
            kind: 'coarse',
            message: `too soft for its ${bits} bits: its peak is ${Math.round(steps)} of their steps, and a tail sinks into them before it has ended. Record it louder.`,
          },
        ];
  return [
    {
      kind: 'coarse',
      message: `${bits} bits: its steps are ${(20 * (bits - 1) * Math.log10(2)).toFixed(0)} dB under full scale, and a tail sinks into them before it has ended.`,
    },
  ];
}
