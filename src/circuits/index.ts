/**
 * The functions that the host may call, by their names, and for each circuit the function that makes one,
 * `filter` for `Filter`. See DEVELOPERS.md.
 */

export { ExponentialAmplifier, LinearAmplifier } from './amplifier';
export { Attenuator } from './attenuator';
export { Burst, burstPulse } from './burst';
export { Clock } from './clock';
export { ClockDivider } from './clock-divider';
export { Cluster, clusterTune } from './cluster';
export { Comparator } from './comparator';
export { Compressor } from './compressor';
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
export { Crossfader } from './crossfader';
export { Delay } from './delay';
export { DelayLine } from './delay-line';
export { triggerInput } from './dsp/trigger-input';
export { Envelope } from './envelope';
export { EnvelopeFollower } from './envelope-follower';
export { Filter } from './filter';
export { FixedBank, fixedBankBand } from './fixed-bank';
export { FrequencyShifter, frequencyShifterSection } from './frequency-shifter';
export { Ladder } from './ladder';
export { Logic } from './logic';
export { LowPassGate } from './low-pass-gate';
export { Mixer, mixerInput } from './mixer';
export {
  ColouredNoise,
  colouredNoisePole,
  colouredNoiseWarmUp,
  noiseSection,
  WhiteNoise,
} from './noise';
export { Oscillator } from './oscillator';
export { OutputStage } from './output-stage';
export { Panner } from './panner';
export { Pulse } from './pulse';
export { Quantizer, quantizerNote } from './quantizer';
export { FreeRandom, TriggeredRandom } from './random';
export { Recording } from './recording';
export { Resonator } from './resonator';
export { Reverberator, reverberatorDiffuser, reverberatorLine } from './reverberator';
export { Rhythm, rhythmEdge, rhythmOutput } from './rhythm';
export { Ring } from './ring';
export { SampleHold } from './sample-hold';
export {
  SequentialSwitch,
  sequentialSwitchFrom,
  sequentialSwitchTo,
} from './sequential-switch';
export { shaper } from './shaper';
export { Slew } from './slew';
export { SoundingOscillator } from './sounding-oscillator';
export {
  StepSequencer,
  stepSequencerGate,
  stepSequencerRow,
  stepSequencerValue,
} from './step-sequencer';
export { switchToVoltage, TriggerConverter, voltageToSwitch } from './trigger-converter';
