/** What the host may call: see DEVELOPERS.md. */

export { exponentialAmplifier, linearAmplifier } from './amplifier';
export { attenuator } from './attenuator';
export { cluster, clusterTune } from './cluster';
export {
  constant,
  filled,
  join,
  late,
  next,
  output,
  passed,
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
export { triggerInput } from './dsp/trigger-input';
export { envelope } from './envelope';
export { filter } from './filter';
export { mixer, mixerInput } from './mixer';
export { whiteNoise } from './noise';
export { oscillator } from './oscillator';
export { panner } from './panner';
export { random } from './random';
export { resonator } from './resonator';
export { rhythm, rhythmEdge, rhythmOutput } from './rhythm';
export { ring } from './ring';
export { shaper } from './shaper';
export { triggerConverter } from './trigger-converter';
