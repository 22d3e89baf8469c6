/** Why a recording shows nothing of a dial, and what to record instead. */

import type { NoReading } from '../../measure/dials/reading.ts';
import type { ClippedDial } from '../../patch/rack/dial-clips.ts';

interface Why {
  readonly message: string;
  readonly expected: string;
}

/** What a good recording is, by what it is to measure. */
function wanted({ spec, jack, heard }: ClippedDial): string {
  switch (spec.toldBy) {
    case 'cutoff':
    case 'q':
      return `some 10 s of noise that goes through the filter, from its ${jack} output`;
    case 'level':
      return `some seconds of the ${jack} output alone`;
    case 'rate':
    case 'duty':
    case 'length':
      return 'a gate or a clock as volts, alone: several pulses, at rest before the first';
    case 'spacing':
      return 'the pulses of the burst as volts, alone: several bursts, at rest before each';
    case 'late':
      return 'the trigger and the pulse as volts on two channels, from before the first trigger on';
    case 'steps':
      return 'some seconds of its stepped output, by its own clock: ten steps or more';
    case 'share':
      return 'a steady tone or noise, from the input and from the output at the same gain';
    case 'rise':
    case 'fall':
      return 'the volts that come of a gate at its input, by a DC-coupled input, from before the first on';
    case 'shutting':
      return heard === 'volts'
        ? 'steady volts that the gate lets through and shuts off, by a DC-coupled input, from before the first on'
        : 'a steady tone that the gate lets through and shuts off, its mode at level, from before the first on';
    case 'frequency':
    case 'interval':
      return 'some seconds of a steady tone, with no vibrato and nothing plugged into its pitch';
    default:
      return heard === 'volts'
        ? 'the volts of the envelope by a DC-coupled input, from before the first stroke on'
        : 'strokes of a steady tone through an amplifier of a straight law that the envelope opens, from before the first on';
  }
}

/** What a stage needs to be seen. */
function stageWanted({ spec }: ClippedDial): string {
  switch (spec.toldBy) {
    case 'attack':
      return 'a gate that lasts until the attack is over, and rest between strokes';
    case 'rise':
      return 'a gate that lasts until the rise is over, and rest between gates';
    case 'fall':
      return 'a gate that lasts well beyond the rise, and rest until the fall is over';
    case 'shutting':
      return 'a gate that lasts until it is open, and rest until it is shut';
    case 'release':
      return 'the sustain at 100 %, a gate of half a second or more, and rest until the release is over';
    case 'sustain':
      return 'a gate that lasts well beyond the decay';
    default:
      return 'the sustain at 0 %, or a gate that lasts beyond the decay, and rest until it is over';
  }
}

/** Words for a reason, as a clause that follows the name of the recording. */
export function whyNone(reason: NoReading, dial: ClippedDial): Why {
  switch (reason) {
    case 'empty':
      return { message: 'it has no samples', expected: wanted(dial) };
    case 'silent':
      return { message: 'it is silence', expected: wanted(dial) };
    case 'clipped':
      return {
        message: 'it is clipped: samples are at full scale',
        expected: 'the same at a lower gain',
      };
    case 'too-short':
      return { message: 'it is too short to tell from', expected: wanted(dial) };
    case 'no-rest':
      return dial.spec.toldBy === 'late'
        ? {
            message: 'a pulse comes before its trigger',
            expected:
              'the channels the right way round (trigger, channel), from before the first trigger on',
          }
        : {
            message: 'it begins in the middle of a stroke, and no other is in it',
            expected: wanted(dial),
          };
    case 'no-strokes':
      return { message: 'there is no stroke in it', expected: wanted(dial) };
    case 'too-fast':
      return dial.heard === 'volts'
        ? { message: 'this is faster than its samples show', expected: 'a higher sample rate' }
        : {
            message: 'this is faster than its sound shows',
            expected:
              'a tone of a higher pitch, the volts of the envelope by a DC-coupled input (as: volts), or this position left out',
          };
    case 'in-noise':
      return {
        message: 'too much of it lies in noise',
        expected: `a higher gain, or longer: ${wanted(dial)}`,
      };
    case 'not-volts':
      return {
        message: 'this is a sound, not the volts of an envelope',
        expected: 'as: sound, or a recording of the volts',
      };
    case 'not-sound':
      return {
        message: 'these are volts, not a sound',
        expected: 'as: volts, or a recording of the sound',
      };
    case 'capacitor':
      return {
        message: 'a capacitor was in the way: the volts go back to 0 V by themselves',
        expected:
          'a DC-coupled input, or a sound that the envelope opens an amplifier for (as: sound)',
      };
    case 'no-hold':
      return { message: 'nothing is held before it falls', expected: stageWanted(dial) };
    case 'other-shape':
      return {
        message: `no ${dial.setting} of an envelope has this shape`,
        expected: stageWanted(dial),
      };
    case 'no-noise':
      return { message: 'this is not steady noise', expected: wanted(dial) };
    case 'no-filter':
      return {
        message: `this is not what a filter of two poles leaves of ${typeof dial.input === 'string' ? `${dial.input} noise` : 'its input'} at ${dial.jack}`,
        expected: `${wanted(dial)}; jack and input say which output it is and what goes in`,
      };
    case 'by-chance':
      return {
        message: `no dip in it is deeper than chance makes them in noise: a notch this narrow cannot be told from them`,
        expected: `a longer recording, twice as long or more, or a lower q: ${wanted(dial)}`,
      };
    case 'needs-higher-rate':
      return {
        message: 'its corner is so high that the recording ends before it shows',
        expected:
          'the same at 96 kHz; or three positions or more, which tell the level and the q together',
      };
    case 'too-sharp':
      return {
        message:
          'it is too short to show how sharp its peak is: that takes longer the sharper and the lower the peak is',
        expected: 'longer noise, 20 q periods of the cutoff or more: 25 s for a q of 50 at 40 Hz',
      };
    case 'out-of-sight':
      return {
        message: 'no corner shows in it: it lies beyond what the recording holds',
        expected:
          'a cutoff that is heard, from 20 Hz to 18 kHz; of one near that a recording at 96 kHz, of others leave this position out',
      };
    case 'other-colour':
      return {
        message: `this is not ${dial.jack} noise`,
        expected: 'the output that was recorded, such as jack: pink',
      };
    case 'no-pulses':
      return { message: 'there is no gate or clock in it', expected: wanted(dial) };
    case 'no-steps':
      return { message: 'there are no steps in it', expected: wanted(dial) };
    case 'uneven':
      return {
        message: 'its pulses are not all alike: some are longer, missing or too many',
        expected: wanted(dial),
      };
    case 'no-full-scale':
      return {
        message: 'a straight glide is timed by volts, and nothing says what full scale stands for',
        expected: 'volts at the top of the file, such as volts: 10 V',
      };
    case 'level-moves':
      return { message: 'its level is not steady', expected: wanted(dial) };
    case 'no-pitch':
      return { message: 'it has no pitch', expected: wanted(dial) };
    case 'drifts':
      return { message: 'its pitch is not steady', expected: wanted(dial) };
  }
}
