/** What a fitted patch cannot reach, which layer would add it, and the result of adding that layer. */

import { type Growth, type Lack, WORTH_DB } from '../../fit/grow.ts';
import type { Layer } from '../../fit/layer.ts';
import type { Concern } from '../../fit/settle.ts';
import type { Shortfall } from '../../fit/shortfall.ts';
import { doubtfully, percentage } from '../../measure/doubt.ts';
import { formatBriefly, formatValue } from '../../patch/units.ts';
import { wrapped } from '../table.ts';

/** Digits of a frequency or a time. */
const DIGITS = 2;
/** A box that begins before this begins with the attack, s. */
const AT_ONCE = 0.005;

/** As data. */
export function shortfallData(shortfalls: readonly Shortfall[], lack: Lack | undefined) {
  return shortfalls.map((shortfall) => {
    const { louder, byDb, lowHz, highHz, from, to, share, partial } = shortfall;
    const { fall, fallReliability } = shortfall;
    const layer = shortfall === lack?.shortfall ? layerOf(lack) : undefined;
    return {
      ...{ louder, byDb, lowHz, highHz, from, to, share, partial, fall, fallReliability },
      layer: layer === undefined ? null : layerData(layer),
    };
  });
}

/** As data: which layers were tried. */
export function growthData(growths: readonly Growth[]) {
  return growths.map(({ layer, before, after, isKept, concerns }) => ({
    layer: layer === undefined ? null : layerData(layer),
    distanceBefore: before,
    distanceAfter: after ?? null,
    kept: isKept,
    findings: concerns.map(({ about, message }) => ({ about, message })),
  }));
}

function layerData({ modules, cables, pulled }: Layer) {
  return { modules, cables, pulled };
}

/** The layer that may be added: one that brings no finding with it. */
function layerOf({ layer, concerns }: Lack): Layer | undefined {
  return concerns.length > 0 ? undefined : layer;
}

/**
 * In words.
 * @param lack the largest part that is missing, and the layer that would add it.
 * @param isGrown whether layers were asked for: then what would help is not repeated.
 * @param command the line that tries it, if there is one.
 */
export function shortfallWords(
  shortfalls: readonly Shortfall[],
  lack: Lack | undefined,
  isGrown: boolean,
  command?: string,
): readonly string[] {
  if (shortfalls.length === 0) return [];
  const told = shortfalls.flatMap((shortfall) => {
    const line = wrapped(`- ${differenceWords(shortfall)} ${cureWords(shortfall)}`);
    if (shortfall !== lack?.shortfall || isGrown) return [line];
    const { layer, concerns } = lack;
    if (layer === undefined) return [line];
    if (concerns[0] !== undefined) return [line, wrapped(`  ${refusalWords(concerns[0])}`)];
    const how =
      command === undefined
        ? ['  To add by hand, or by --grow:']
        : [
            `  To have it added, if that brings the patch ${WORTH_DB} dB nearer:`,
            `    ${command}`,
            '  or by hand:',
          ];
    return [line, ...how, ...layerLines(layer)];
  });
  return ['', 'What is left of the difference:', ...told];
}

/** The result of the layers that were added. */
export function growthWords(growths: readonly Growth[]): readonly string[] {
  return growths.flatMap(({ shortfall, layer, before, after, isKept, concerns }) => {
    if (layer === undefined)
      return [
        wrapped(
          'No layer was added: there is a place for one where the channel has one cable, the output one, both in the patch file itself, and fewer than two layers are there.',
        ),
      ];
    if (concerns[0] !== undefined)
      return [
        wrapped(`${layerName(shortfall)} was not added. ${refusalWords(concerns[0])}`),
        ...layerLines(layer),
      ];
    const fell = `the distance ${isKept ? 'falls' : 'would go'} from ${before.toFixed(2)} to ${(after ?? before).toFixed(2)} dB`;
    return isKept
      ? [wrapped(`${layerName(shortfall)} was added: ${fell}.`), ...layerLines(layer)]
      : [
          wrapped(
            `${layerName(shortfall)} was tried and left out: ${fell}, and a layer is kept for ${WORTH_DB} dB at least.`,
          ),
        ];
  });
}

/** The modules and cables, as the file has them. */
function layerLines({ modules, cables, pulled }: Layer): readonly string[] {
  return [
    ...modules.map((text) => `    ${text}`),
    ...pulled.map((text) => `    pull  ${text}`),
    ...cables.map((text) => `    plug  ${text}`),
  ];
}

function refusalWords({ message }: Concern): string {
  return `"forehear check" would find with it: ${message}`;
}

/** What differs, where and when. */
export function differenceWords(shortfall: Shortfall): string {
  const { louder, byDb, share, from, to, isToEnd, nominal } = shortfall;
  const [low, high] = nominal.map((hz) => formatValue(hz, 'frequency'));
  const where = low === high ? `around ${low}` : `at ${low} to ${high}`;
  const start = from < AT_ONCE ? 'the attack' : time(from);
  const when = isToEnd ? `from ${start} on` : `from ${start} to ${time(to)}`;
  return `The ${louder} has ${byDb.toFixed(0)} dB more ${where} ${when} (${percentage(share, 0)} of all that differs).`;
}

function cureWords(shortfall: Shortfall): string {
  const { louder, isHighest, isLowest, from } = shortfall;
  if (louder === 'recording') return `${layerName(shortfall)} would give that.`;
  if (isHighest && isLowest) return 'A shorter fall would take it away.';
  const cut = isHighest ? 'a low-pass behind it' : isLowest ? 'a high-pass behind it' : 'a notch';
  return from < AT_ONCE
    ? `A shorter fall of what sounds there, or ${cut}, would take it away.`
    : `A shorter fall of what sounds there would take it away.`;
}

function layerName({ partial, fall, fallReliability, nominal }: Shortfall): string {
  if (partial !== null)
    return `A partial of ${frequency(partial.hz)} that falls by 60 dB in ${doubtfully(time(partial.decay), partial.reliability)}`;
  const [low, high] = nominal.map((hz) => formatValue(hz, 'frequency'));
  return `A layer of noise at ${low === high ? low : `${low} to ${high}`} with an envelope of its own, which falls by 60 dB in ${doubtfully(time(fall), fallReliability)},`;
}

function frequency(hz: number): string {
  return formatBriefly(hz, 'frequency', DIGITS + 1);
}

function time(seconds: number): string {
  return formatBriefly(seconds, 'time', DIGITS);
}
