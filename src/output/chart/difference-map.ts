/** Where two hits differ: bands over time, a square for each difference. */

import { FRAME_SECONDS } from '../../measure/likeness/band-frames.ts';
import { differingFrames, type HitDifference } from '../../measure/likeness/likeness.ts';
import { element, label, svgPicture } from './chart-svg.ts';
import { PRINT } from './colours.ts';
import { framed, type Plot } from './frame.ts';

interface HitPair {
  readonly file: string;
  readonly against: string;
  readonly likeness: HitDifference;
}

/** A difference from here on is as dark as any, dB. */
const MOST_DB = 30;
/** Less is not drawn, dB. */
const LEAST_DB = 1;
const SIZE = { width: 760, plotHeight: 338 };
const LEGEND_PX = 150;
/** The most columns; of a longer hit each is the mean of several frames. */
const COLUMNS = 80;

/**
 * Draws the map of differences as an SVG of its own. What the reference has more of is filled, what it
 * has less of is outlined; larger differences are larger squares, so that it reads without colour too.
 */
export function differenceMap({ file, against, likeness }: HitPair): string {
  const { differences, byBand, db } = likeness;
  const frames = differingFrames(likeness);
  const step = Math.ceil(frames / COLUMNS);
  const [more, less] = [PRINT.series[0] as string, PRINT.series[1] as string];
  const drawing = framed(
    {
      title: `${file} against ${against}: ${db.toFixed(2)} dB apart`,
      caption: `Squares: what the third octaves of ${file} differ by, ${MOST_DB} dB and more filling a cell.`,
      x: {
        label: 'time after the onset, ms',
        scale: 'linear',
        domain: [0, 1000 * FRAME_SECONDS * step * Math.ceil(frames / step)],
      },
      y: {
        label: 'third octave, Hz',
        scale: 'log',
        domain: [44.7, (byBand.at(-1)?.nominalHz ?? 16_000) * 1.122],
      },
      ...SIZE,
      rightPx: LEGEND_PX,
      colours: PRINT,
    },
    (plot) =>
      differences
        .flatMap((row, band) =>
          columnsOf(row.slice(0, frames), step).map((value, column) =>
            square(plot, byBand[band]?.nominalHz ?? 0, column, value),
          ),
        )
        .join(''),
    ({ width }) =>
      [
        ['missing here', more, more],
        ['too much here', less, 'none'],
      ]
        .map(([words, stroke, fill], index) => {
          const y = 12 + 20 * index;
          const box = { x: width + 14, y: y - 9, width: 9, height: 9, stroke, fill };
          return element('rect', box) + label(words as string, width + 30, y, { fill: PRINT.ink });
        })
        .join(''),
  );
  return svgPicture(drawing, `Where ${file} differs from ${against}`, PRINT);

  function square(plot: Plot, hz: number, column: number, value: number): string {
    const size = Math.abs(value);
    if (size < LEAST_DB) return '';
    const left = plot.x(1000 * FRAME_SECONDS * step * column);
    const cell = plot.x(1000 * FRAME_SECONDS * step * (column + 1)) - left;
    const [top, bottom] = [plot.y(hz * 1.122), plot.y(hz / 1.122)];
    const share = Math.sqrt(Math.min(1, size / MOST_DB));
    const [width, height] = [0.9 * cell * share, 0.9 * (bottom - top) * share];
    return element('rect', {
      x: left + (cell - width) / 2,
      y: (top + bottom - height) / 2,
      width,
      height,
      ...(value > 0 ? { fill: more } : { fill: 'none', stroke: less }),
    });
  }
}

function columnsOf(row: readonly number[], step: number): readonly number[] {
  return Array.from({ length: Math.ceil(row.length / step) }, (_, column) => {
    const part = row.slice(column * step, (column + 1) * step);
    return part.reduce((sum, value) => sum + value, 0) / part.length;
  });
}
