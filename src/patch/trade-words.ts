/**
 * What kinds of module are called besides: short forms and other words of the trade (common practice, no
 * source). They are no names in a file; who writes one is told the name that is.
 */

const WORDS: { readonly [kind: string]: string } = {
  amplifier: 'vca amp gain',
  attenuator: 'attenuverter offset pad',
  burst: 'ratchet roll',
  comparator: 'schmitt',
  compressor: 'limiter ducker',
  crossfader: 'xfade',
  delay: 'gate-delay trigger-delay',
  'delay-line': 'echo chorus flanger',
  envelope: 'adsr ar ad asr eg env envelope-generator',
  'envelope-follower': 'follower',
  filter: 'vcf svf lowpass low-pass highpass high-pass bandpass band-pass',
  'fixed-bank': 'filter-bank filterbank equalizer equaliser eq',
  'frequency-shifter': 'shifter',
  logic: 'and or xor not gates',
  'low-pass-gate': 'lpg',
  mixer: 'mix sum',
  multiple: 'mult multi splitter',
  noise: 'white pink hiss',
  oscillator: 'vco lfo osc tone sine saw triangle square',
  output: 'out speaker speakers headphones main audio-out',
  panner: 'pan',
  pulse: 'one-shot oneshot monostable trigger-to-gate',
  quantizer: 'quantiser scale',
  recording: 'sampler wav player',
  resonator: 'ping modal',
  reverberator: 'reverb room plate',
  rhythm: 'drums drum-sequencer trigger-sequencer drum',
  ring: 'ring-modulator ringmod rm multiplier',
  'sample-hold': 'sample-and-hold s&h sh track-and-hold',
  'sequential-switch': 'switch',
  shaper: 'wavefolder folder distortion waveshaper rectifier saturator overdrive',
  slew: 'lag glide portamento slew-limiter integrator',
  'step-sequencer': 'sequencer steps',
  'clock-divider': 'divider multiplier-divider',
};

const KINDS_OF = new Map(
  Object.entries(WORDS).flatMap(([kind, words]) =>
    words.split(' ').map((word): [string, string] => [word, kind]),
  ),
);

/** The kind that someone may mean by a word of the trade. */
export function kindMeant(word: string): string | undefined {
  return KINDS_OF.get(word.toLowerCase().replace(/[\s_]+/g, '-'));
}
