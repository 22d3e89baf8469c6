/**
 * A layer that a voice lacks: a struck resonator for a partial, or noise through a filter with an envelope
 * of its own, and how it is added to a patch.
 *
 * The channel's gate then goes through a multiple, and the signals of the output through a mixer. A second
 * layer takes another jack of each.
 */

import type { Partial } from '../measure/pitch/partials.ts';
import { KINDS, type KindsOption } from '../modules/kinds.ts';
import { applyEdits, type Edit } from '../patch/edit/edit.ts';
import { jackName, type Patch } from '../patch/patch.ts';
import { fileText, type PatchTexts, readTexts, withText } from '../patch/texts.ts';
import { formatBriefly } from '../patch/units.ts';
import type { VoiceChannel } from './path.ts';
import type { Shortfall } from './shortfall.ts';

/** A layer as a patch has it. */
export interface Layer {
  /** `name: { kind: ... }`, in the order of the signal. */
  readonly modules: readonly string[];
  /** In the order of the signal. */
  readonly cables: readonly string[];
  /** Cables of the patch that some of these replace. */
  readonly pulled: readonly string[];
  /** The texts of the patch with it. */
  readonly written: PatchTexts;
  readonly patch: Patch;
}

/** The modules and cables of a layer, without its place in the patch. */
interface LayerParts {
  readonly modules: readonly string[];
  readonly cables: readonly string[];
  /** The jack that it sounds from. */
  readonly result: string;
}

const GATE = 'layer-gate';
const SUM = 'layer-sum';
/** The most layers that a patch is given. */
export const MOST_LAYERS = 2;
/** Jacks: the gate, its former destination, and one for each layer. */
const JACKS = 2 + MOST_LAYERS;
/** Level in the mixer that a layer starts with, %; a fit finds what is right. */
const LEVEL = 30;
/** A layer that comes no later than this starts at once, s. */
const AT_ONCE = 0.015;
/** An envelope's decay is five time constants; 60 dB of amplitude are ln 1000 of them. */
export const DECAY_OF_60_DB = 5 / Math.log(1000);

/**
 * Writes the layer that would fill a shortfall.
 * @param channel whose gate plays it.
 * @returns undefined if the patch has no place for it: the channel or the output has other cables than one
 *   in the main file, or all layers are there already.
 */
export function layerFor(
  shortfall: Shortfall,
  patch: Patch,
  written: PatchTexts,
  channel: VoiceChannel,
  { kinds = KINDS }: KindsOption = {},
): Layer | undefined {
  const { main: file } = written;
  const has = (name: string): boolean => patch.modules.some((module) => module.name === name);
  const index = has(SUM) ? 1 + patch.cables.filter(({ to }) => to.module === SUM).length : 2;
  if (index > 1 + MOST_LAYERS || has(GATE) !== has(SUM)) return undefined;
  const { modules, cables, result } = partsOf(shortfall, index - 1);
  const level = `level-${index}`;
  const out = patch.modules.find(({ definition }) => definition.role === 'output')?.name;
  const [gate, ...otherGates] = patch.cables.filter(
    ({ from }) => from.module === channel.module && from.jack === channel.name,
  );
  const [sound, ...otherSounds] = patch.cables.filter(({ to }) => to.module === out);
  const pulled = has(SUM) ? [] : [gate, sound].filter((cable) => cable !== undefined);
  const isPlain = pulled.every(({ place }) => place.file === file);
  if (gate === undefined || sound === undefined || !isPlain) return undefined;
  if (otherGates.length > 0 || otherSounds.length > 0) return undefined;
  const shared = has(SUM)
    ? []
    : [
        `${GATE}: { kind: multiple, jacks: ${JACKS} }`,
        `${SUM}: { kind: mixer, ${level}: ${LEVEL} % }`,
      ];
  const around = has(SUM)
    ? []
    : [
        [`${jackName(gate.from)} -> ${GATE}.in`, `${GATE}.out-1 -> ${jackName(gate.to)}`],
        [`${jackName(sound.from)} -> ${SUM}.in-1`, `${SUM}.out -> ${jackName(sound.to)}`],
      ];
  const own = [
    ...cables.map((cable) => cable.replace('{gate}', `${GATE}.out-${index}`)),
    `${result} -> ${SUM}.in-${index}`,
  ];
  const all = [...shared, ...modules];
  const edits: Edit[] = [
    ...all.map((text): Edit => {
      const [name = '', value = ''] = text.split(/: (.*)/s);
      return { type: 'add-module', file, name, text: value };
    }),
    ...pulled.map(
      ({ place }, k): Edit => ({ type: 'replace-cable', place, texts: around[k] ?? [] }),
    ),
    ...own.map((text): Edit => ({ type: 'add-cable', file, text })),
  ];
  const added = applyEdits(file, fileText(written, file) ?? '', edits);
  const text =
    added === undefined || !has(SUM)
      ? added
      : applyEdits(file, added, [
          { type: 'set-value', file, path: ['modules', SUM, level], text: `${LEVEL} %` },
        ]);
  if (text === undefined) return undefined;
  const texts = withText(written, text);
  const read = readTexts(texts, { kinds });
  if (read.patch === undefined) return undefined;
  return {
    modules: all,
    cables: [...around.flat(), ...own],
    pulled: pulled.map(({ from, to }) => `${jackName(from)} -> ${jackName(to)}`),
    written: texts,
    patch: read.patch,
  };
}

function partsOf(shortfall: Shortfall, index: number): LayerParts {
  const { partial } = shortfall;
  return partial === null ? noiseParts(shortfall, index) : tonePart(partial, index);
}

function tonePart({ hz, decay }: Partial, index: number): LayerParts {
  const name = `layer-${index}-tone`;
  return {
    modules: [`${name}: { kind: resonator, at-zero: ${hertz(hz)}, decay: ${seconds(decay)} }`],
    cables: [`{gate} -> ${name}.strike`],
    result: `${name}.out`,
  };
}

/** Noise, a filter for the part of it that is needed, and an envelope as slow as the box is late. */
function noiseParts(
  { lowHz, highHz, isLowest, isHighest, from, fall }: Shortfall,
  index: number,
): LayerParts {
  const [noise, part, shape, level] = ['noise', 'part', 'shape', 'level'].map(
    (name) => `layer-${index}-${name}`,
  ) as [string, string, string, string];
  const middle = Math.sqrt(lowHz * highHz);
  const q = Math.min(10, Math.max(0.5, middle / (highHz - lowHz)));
  const [cutoff, output] = isHighest
    ? [lowHz, 'high']
    : isLowest
      ? [highHz, 'low']
      : [middle, 'band'];
  const attack = from < AT_ONCE ? 0.0005 : from;
  const decay = seconds(DECAY_OF_60_DB * fall);
  return {
    modules: [
      `${noise}: { kind: noise, level: 2.5 V }`,
      `${part}: { kind: filter, cutoff: ${hertz(cutoff)}${output === 'band' ? `, q: ${Number(q.toPrecision(2))}` : ''} }`,
      `${shape}: { kind: envelope, mode: trigger, attack: ${seconds(attack)}, decay: ${decay}, release: ${decay} }`,
      `${level}: { kind: amplifier, response: linear }`,
    ],
    cables: [
      `{gate} -> ${shape}.trigger`,
      `${noise}.white -> ${part}.in`,
      `${part}.${output} -> ${level}.in`,
      `${shape}.out -> ${level}.control`,
    ],
    result: `${level}.out`,
  };
}

function hertz(value: number): string {
  return formatBriefly(value, 'frequency', 3);
}

function seconds(value: number): string {
  return formatBriefly(value, 'time', 2);
}
