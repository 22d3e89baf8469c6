/**
 * A voice of ordinary modules, as the text of a patch: struck partials, layers of noise, and a mixer. A
 * partial is a resonator, or an oscillator with an envelope and an amplifier.
 */

import type { Colour } from '../../measure/dials/noise-colour.ts';
import { FIRST_BAND, LAST_BAND } from '../../measure/likeness/band-frames.ts';
import type { Partial } from '../../measure/pitch/partials.ts';
import { nominalHz } from '../../measure/spectrum/bands.ts';
import { formatBriefly } from '../../patch/units.ts';
import { jsonText } from '../../text/printable.ts';
import { DECAY_OF_60_DB } from '../layer.ts';
import type { Shape } from './course.ts';

/** Noise through a filter, or a bank of them, or both, with an envelope of its own. */
export interface NoiseLayer {
  readonly colour: Colour;
  /** Which source of noise: the second is independent of the first. */
  readonly source: 0 | 1;
  readonly filter: {
    readonly output: 'low' | 'band' | 'high';
    readonly cutoffHz: number;
    /** Null for a flat one. */
    readonly q: number | null;
  } | null;
  /** Levels of a bank's bands from 50 Hz up, dB; those above are off. */
  readonly bankDb: readonly number[] | null;
  readonly shape: Shape;
}

export interface VoiceShape {
  readonly toneKind: 'resonator' | 'oscillator';
  /** The loudest first. */
  readonly tones: readonly Partial[];
  /** Whether the first partial's pitch falls at the stroke. */
  readonly hasFall: boolean;
  /** Three at most. */
  readonly noises: readonly NoiseLayer[];
  /** Cutoff of a high-pass that all of it goes through, Hz; null for none. */
  readonly cutHz: number | null;
  /** Levels of each tone, then of each noise, in the mixer, %. */
  readonly levels: readonly number[];
  /** Jacks of the multiple that the gate goes through. */
  readonly jacks: number;
}

/** The highest level of a mixer, %. */
export const MOST_LEVEL = 200;
/** The fall of the pitch at first, octaves, and the envelope's volts: one an octave. */
const FALL = { octaves: 0.3, volts: 5, seconds: 0.06 };
const SOURCES = ['hiss', 'hiss-2'] as const;
/** A bank's band that is off, dB. */
export const OFF_DB = -60;
/** How many bands of a bank are written in one line. */
const BANDS_A_LINE = 7;
const ORDER = ['first', 'second', 'third'] as const;

/** How many inputs the gate of a voice goes to. */
export function gateInputs({ tones, noises, hasFall }: VoiceShape): number {
  return tones.length + noises.length + (hasFall ? 1 : 0);
}

/** The number of modules in a voice of resonators. */
export function modulesOf({ tones, noises, cutHz }: VoiceShape): number {
  const sources = new Set(noises.map(({ source }) => source)).size;
  const layers = noises.reduce(
    // An envelope and an amplifier, and the filter and bank before them.
    (sum, { filter, bankDb }) => sum + 2 + (filter === null ? 0 : 1) + (bankDb === null ? 0 : 1),
    0,
  );
  // Rhythm, multiple, mixer and output.
  return 4 + tones.length + sources + layers + (cutHz === null ? 0 : 1);
}

/**
 * Writes a voice.
 * @param of a recording's name, and the path of the rack that the patch names.
 */
export function voiceText(
  shape: VoiceShape,
  { recording, rack }: { readonly recording: string; readonly rack?: string | undefined },
): string {
  const { tones, noises, hasFall, cutHz, jacks, levels } = shape;
  const modules: string[] = [
    '# One stroke a bar. Put a pattern of your own in its place.',
    'drums: { kind: rhythm, tempo: 40 bpm, channels: [hit], patterns: { once: { hit: "x---------------" } } }',
    `# The gate strikes ${tones.length > 0 ? 'each partial' : 'each layer'}${tones.length > 0 && noises.length > 0 ? ', and starts each envelope' : ''}.`,
    `gate: { kind: multiple, jacks: ${jacks} }`,
  ];
  const cables: string[] = ['drums.hit -> gate.in'];
  let used = 0;
  const gate = (to: string): void => {
    used += 1;
    cables.push(`gate.out-${used} -> ${to}`);
  };
  if (tones.length > 0)
    modules.push(
      '',
      '# The partials that were measured, the loudest first, each with its own fall.',
    );
  tones.forEach((tone, index) => {
    const name = `tone-${index + 1}`;
    const falls = hasFall && index === 0;
    addTone(shape, { tone, name, falls, modules, cables, gate });
    cables.push(`${toneOut(shape, name)} -> sum.in-${index + 1}`);
  });
  if (noises.length > 0) {
    const many = new Set(noises.map(({ source }) => source)).size > 1;
    modules.push(
      '',
      `# ${many ? 'Noise' : 'One noise'}, in a layer for each course that it takes.`,
    );
    for (const source of new Set(noises.map((noise) => noise.source)))
      modules.push(`${SOURCES[source]}: { kind: noise, level: 2 V }`);
  }
  if (noises.some(({ bankDb }) => bankDb !== null))
    modules.push('# Each bank has the third octaves of its layer, as the recording has them.');
  noises.forEach((noise, index) => {
    const name = ORDER[index] as string;
    const { attack, decay, curve } = noise.shape;
    const bent = curve === 'linear' ? ', curve: linear' : '';
    let from = `${SOURCES[noise.source]}.${noise.colour}`;
    if (noise.filter !== null) {
      const { output, cutoffHz, q } = noise.filter;
      const shown = output === 'band' && q !== null ? `, q: ${Number(q.toPrecision(2))}` : '';
      modules.push(`${name}-part: { kind: filter, cutoff: ${hertz(cutoffHz)}${shown} }`);
      cables.push(`${from} -> ${name}-part.in`);
      from = `${name}-part.${output}`;
    }
    if (noise.bankDb !== null) {
      for (const line of bankLines(`${name}-bands`, noise.bankDb)) modules.push(line);
      cables.push(`${from} -> ${name}-bands.in`);
      from = `${name}-bands.out`;
    }
    modules.push(
      `${name}-shape: { kind: envelope, mode: trigger, attack: ${time(attack)}, decay: ${time(decay)}, release: ${time(decay)}${bent} }`,
      `${name}-level: { kind: amplifier, response: linear }`,
    );
    gate(`${name}-shape.trigger`);
    cables.push(
      `${from} -> ${name}-level.in`,
      `${name}-shape.out -> ${name}-level.control`,
      `${name}-level.out -> sum.in-${tones.length + index + 1}`,
    );
  });
  const mixed = levels.map((level, index) => `level-${index + 1}: ${percent(level)}`);
  modules.push('', `sum: { kind: mixer, ${mixed.join(', ')} }`);
  if (cutHz === null) cables.push('sum.out -> out.left');
  else {
    modules.push(
      '# A small or stiff body hardly moves the air at low frequencies.',
      `cut: { kind: filter, cutoff: ${hertz(cutHz)} }`,
    );
    cables.push('sum.out -> cut.in', 'cut.high -> out.left');
  }
  modules.push('out: { kind: output }');
  return [
    `title: ${jsonText(`Voice after ${recording}`)}`,
    'about: >',
    `  Built from a recording: ${contentsOf(shape)}.`,
    'seed: workshop',
    ...(rack === undefined ? [] : [`rack: ${jsonText(rack)}`]),
    '',
    'modules:',
    ...modules.map((line) => (line === '' ? '' : `  ${line}`)),
    '',
    'cables:',
    ...cables.map((cable) => `  - ${cable}`),
    '',
  ].join('\n');
}

/** A bank, its bands in several lines. */
function bankLines(name: string, levels: readonly number[]): readonly string[] {
  const bands = Array.from({ length: 1 + LAST_BAND - FIRST_BAND }, (_, band) => {
    const db = levels[band] ?? OFF_DB;
    return `level-${nominalHz(FIRST_BAND + band)}: ${db} dB`;
  });
  const lines: string[] = [];
  for (let from = 0; from < bands.length; from += BANDS_A_LINE)
    lines.push(`    ${bands.slice(from, from + BANDS_A_LINE).join(', ')},`);
  return [`${name}:`, '  { kind: fixed-bank,', ...lines, '  }'];
}

interface Adding {
  readonly tone: Partial;
  readonly name: string;
  readonly falls: boolean;
  readonly modules: string[];
  readonly cables: string[];
  readonly gate: (to: string) => void;
}

function addTone({ toneKind }: VoiceShape, { tone, name, falls, modules, cables, gate }: Adding) {
  const { hz, decay } = tone;
  const depth = percent((100 * FALL.octaves) / FALL.volts);
  const pitch = `at-zero: ${hertz(hz)}`;
  if (toneKind === 'resonator') {
    modules.push(`${name}: { kind: resonator, ${pitch}, decay: ${time(decay)} }`);
    gate(`${name}.strike`);
  } else {
    const fall = time(DECAY_OF_60_DB * decay);
    const amount = falls ? `, exponential-fm-amount: ${depth}` : '';
    modules.push(
      `${name}: { kind: oscillator, ${pitch}${amount} }`,
      `${name}-shape: { kind: envelope, mode: trigger, attack: 0.5 ms, decay: ${fall}, release: ${fall} }`,
      `${name}-level: { kind: amplifier, response: linear }`,
    );
    gate(`${name}-shape.trigger`);
    cables.push(`${name}.sine -> ${name}-level.in`, `${name}-shape.out -> ${name}-level.control`);
  }
  if (!falls) return;
  modules.push(
    '# The blow stretches the skin: its pitch starts high and falls to the note.',
    `fall: { kind: envelope, mode: trigger, attack: 0 s, decay: ${time(FALL.seconds)}, release: 0 s }`,
  );
  gate('fall.trigger');
  if (toneKind === 'oscillator') {
    cables.push(`fall.out -> ${name}.exponential-fm`);
    return;
  }
  modules.push(`depth: { kind: attenuator, level: ${depth} }`);
  cables.push('fall.out -> depth.in', `depth.out -> ${name}.pitch`);
}

/** The setting for how far a voice's pitch falls, with the range of a fit; none without. */
export function fallRange({ hasFall, toneKind }: VoiceShape): readonly string[] {
  if (!hasFall) return [];
  const setting = toneKind === 'resonator' ? 'depth.level' : 'tone-1.exponential-fm-amount';
  return [`${setting}=0.5%..60%`];
}

function toneOut({ toneKind }: VoiceShape, name: string): string {
  return toneKind === 'resonator' ? `${name}.out` : `${name}-level.out`;
}

function contentsOf({ tones, noises, hasFall }: VoiceShape): string {
  const partials =
    tones.length === 0
      ? []
      : [
          `${tones.length === 1 ? 'a partial' : `${tones.length} partials`} at ${tones.map(({ hz }) => hertz(hz)).join(', ')}${hasFall ? ', the first with a fall of its pitch' : ''}`,
        ];
  const noise =
    noises.length === 0
      ? []
      : [noises.length === 1 ? 'a layer of noise' : `${noises.length} layers of noise`];
  return [...partials, ...noise].join(', and ');
}

function hertz(value: number): string {
  return formatBriefly(value, 'frequency');
}

function time(value: number): string {
  return formatBriefly(value, 'time', 3);
}

function percent(value: number): string {
  return formatBriefly(value / 100, 'percent', 3);
}
