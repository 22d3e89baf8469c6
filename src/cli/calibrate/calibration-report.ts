/** What `calibrate` says of the dials that it measured, as words, as data and as a picture. */

import { type Drawing, stacked, svgPicture } from '../../output/chart/chart-svg.ts';
import { PRINT } from '../../output/chart/colours.ts';
import { dialCurve } from '../../output/chart/dial-curve.ts';
import { valueAt } from '../../patch/rack/dial.ts';
import { formatBriefly } from '../../patch/units.ts';
import { table } from '../table.ts';
import type { CalibratedDial, CalibratedPoint } from './calibrated.ts';
import { closeText, tableText } from './dials-into.ts';

/** A dial as a table of words. */
export function dialReport(made: CalibratedDial): string {
  const { dial, points, also } = made;
  const known = dial.owned?.dials.get(dial.setting);
  const rows = points.map((point) => {
    const before = known && valueAt(known, point.clip.position);
    return [
      point.clip.words,
      point.text,
      `+- ${errorText(made, point)}`,
      ...(known ? [before === undefined ? '' : formatBriefly(before, known.quantity)] : []),
      point.clip.path,
    ];
  });
  const head = ['at', dial.setting, 'error', ...(known ? ['before'] : []), 'recording'];
  const close = closeText(made);
  const how = [...also, ...curveWords(made), ...(close === undefined ? [] : [close])]
    .map((one) => `  ${one}\n`)
    .join('');
  return `${dial.unit}.${dial.setting}\n${how}${table([head, ...rows], 2)}\n  ${dial.setting}: ${tableText(made)}`;
}

/** Which shape an envelope's stages have, where it is not the default of a patch. */
function curveWords({ dial, points, curve }: CalibratedDial): readonly string[] {
  if (curve !== 'linear' || dial.owned?.fixed.curve !== undefined || points.length === 0) return [];
  return ['its stages are straight: say fixed: { curve: linear } of the unit'];
}

/** A percentage for quantities that go in ratios; otherwise in the quantity's own unit. */
function errorText({ dial }: CalibratedDial, { value, error }: CalibratedPoint): string {
  const { type } = dial.spec;
  if (type === 'interval') return formatBriefly(Number(error.toPrecision(2)), type);
  if (type === 'percent') return `${Number((100 * error).toPrecision(2))} %`;
  return `${Number(((100 * error) / Math.abs(value)).toPrecision(2))} %`;
}

/** The shape that scripts rely on. Values and errors are in s, Hz, V, semitones or shares of 1. */
export function dialData(made: CalibratedDial): object {
  const { dial, points, close, also, curve } = made;
  return {
    unit: dial.unit,
    kind: dial.definition.kind,
    setting: dial.setting,
    quantity: dial.spec.type,
    curve: curve ?? null,
    also,
    closerThanErrors: close.map((pair) => pair.map(({ clip }) => clip.position)),
    points: points.map(({ clip, value, error, text }) => ({
      position: clip.position,
      value,
      error,
      text,
      recording: clip.path,
    })),
  };
}

/** All dials under one another, as an SVG. */
export function dialsPicture(title: string, dials: readonly CalibratedDial[]): string {
  const drawings = dials.map((made): Drawing => {
    const { dial, points, table: measured } = made;
    const known = dial.owned?.dials.get(dial.setting);
    const worst = points.reduce((a, b) =>
      b.error / Math.abs(b.value || 1) > a.error / Math.abs(a.value || 1) ? b : a,
    );
    return dialCurve({
      title: `${dial.unit}: ${dial.setting}`,
      caption: `Measured at ${points.length} positions, bars by their errors (nineteen of twenty figures are within them); least sure at ${worst.clip.words}: ${worst.text} +- ${errorText(made, worst)}.${known ? ' Dashed: what the rack said before.' : ''}`,
      table: measured,
      errors: points.map(({ error }) => error),
      before: known,
    });
  });
  return svgPicture(stacked(drawings, 24), title === '' ? 'Dials as measured' : title, PRINT);
}
