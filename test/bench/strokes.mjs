/** Every voice that is shipped, struck. */

import { join } from 'node:path';
import { PATCHES, played, read } from './sound.mjs';

/** The jacks of a part that is played by `gate.in` and `accent.in`, and heard at `touch.out`. */
const usual = (part, set = '') => ({
  part,
  gate: 'gate.in',
  accent: 'accent.in',
  out: 'touch.out',
  set,
});

export const VOICES = {
  kick: { part: 'kick', gate: 'gate.in', out: 'level.out' },
  'struck kick': { ...usual('membrane-kick'), out: 'warmth.out' },
  snare: { part: 'snare', gate: 'gate.in', out: 'both.out' },
  'struck snare': usual('membrane-snare'),
  tom: usual('tom'),
  'high tom': usual('tom', 'tuning.offset: 0.87 V, head-1.decay: 440 ms, stick.at-zero: 3 kHz'),
  'closed hat of noise': { part: 'hats', gate: 'closed-gate.in', out: 'both.out' },
  'open hat of noise': { part: 'hats', gate: 'open-shape.trigger', out: 'both.out' },
  'closed hat of metal': {
    part: 'metal-hats',
    gate: 'closed-gate.in',
    accent: 'accent.in',
    out: 'both.out',
  },
  'open hat of metal': { part: 'metal-hats', gate: 'open-shape.trigger', out: 'both.out' },
  ride: { ...usual('ride'), out: 'sum.out' },
  crash: usual('crash'),
  bell: usual('bell'),
  clap: usual('clap'),
  rim: usual('rim'),
  shaker: usual('shaker'),
  sticks: usual('sticks'),
  tambourine: usual('tambourine'),
};

/**
 * A voice by itself, as the text of a patch that lies beside the shipped ones.
 * @param how.set settings of the part, as `jack.setting: value` with commas between.
 * @param how.steps a line of tab, at 40 bpm: 375 ms a step; one stroke unless given.
 */
export function strokeText(name, { set = '', steps = 'x---------------', seed = 'workshop' } = {}) {
  const { part, gate, accent, out, set: own = '' } = VOICES[name];
  const settings = [own, set].filter((text) => text !== '').join(', ');
  const cables = [
    `drums.hit -> voice.${gate}`,
    ...(accent === undefined ? [] : [`drums.hit-accent -> voice.${accent}`]),
    `voice.${out} -> out.left`,
  ];
  return `seed: ${seed}
parts: { voice: { file: parts/${part}.yaml, set: { ${settings} } } }
modules:
  drums: { kind: rhythm, tempo: 40 bpm, channels: [hit], patterns: { once: { hit: "${steps}" } } }
  out: { kind: output }
cables: [${cables.join(', ')}]
`;
}

/**
 * Plays a voice by itself.
 * @param how as {@link strokeText} has it; `seconds` is 4.3 unless told otherwise.
 * @returns its samples, 1 being full scale.
 */
export function stroke(name, { seconds = 4.3, ...how } = {}) {
  const text = strokeText(name, how);
  return played(read(text, join(PATCHES, 'bench.yaml')), seconds)[0];
}
