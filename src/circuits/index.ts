/** What the host may call: see DEVELOPERS.md. */

export { exponentialAmplifier, linearAmplifier } from './amplifier';
export { attenuator } from './attenuator';
export { burst, burstPulse } from './burst';
export { clock } from './clock';
export { clockDivider } from './clock-divider';
export { cluster, clusterTune } from './cluster';
export { comparator } from './comparator';
export { compressor } from './compressor';
export {
  constant,
  filled,
  hold,
  join,
  late,
  next,
  output,
  passed,
  samples,
  scheduler,
  step,
  sum,
  sumInput,
  switched,
  switchedInput,
  voltsOf,
  wire,
} from './core/host';
export { own, ownWire } from './core/own';
export { crossfader } from './crossfader';
export { delay } from './delay';
export { delayLine } from './delay-line';
export { triggerInput } from './dsp/trigger-input';
export { envelope } from './envelope';
export { envelopeFollower } from './envelope-follower';
export { filter } from './filter';
export { fixedBank, fixedBankBand } from './fixed-bank';
export { frequencyShifter, frequencyShifterSection } from './frequency-shifter';
export { ladder } from './ladder';
export { logic } from './logic';
export { lowPassGate } from './low-pass-gate';
export { mixer, mixerInput } from './mixer';
export { colouredNoise, colouredNoisePole, colouredNoiseWarmUp, whiteNoise } from './noise';
export { oscillator } from './oscillator';
export { panner } from './panner';
export { pulse } from './pulse';
export { quantizer, quantizerNote } from './quantizer';
export { freeRandom, random } from './random';
export { recording } from './recording';
export { resonator } from './resonator';
export { reverberator, reverberatorDiffuser, reverberatorLine } from './reverberator';
export { rhythm, rhythmEdge, rhythmOutput } from './rhythm';
export { ring } from './ring';
export { sampleHold } from './sample-hold';
export {
  sequentialSwitch,
  sequentialSwitchFrom,
  sequentialSwitchTo,
} from './sequential-switch';
export { shaper } from './shaper';
export { exponentialSlew, linearSlew } from './slew';
export { soundingOscillator } from './sounding-oscillator';
export {
  stepSequencer,
  stepSequencerGate,
  stepSequencerRow,
  stepSequencerValue,
} from './step-sequencer';
export { switchToVoltage, triggerConverter, voltageToSwitch } from './trigger-converter';
