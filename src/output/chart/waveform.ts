/** A sound over time: for each column of the picture, the span from its lowest to its highest sample. */

import { area } from 'd3-shape';
import { type Drawing, element } from './chart-svg.ts';
import { type FrameOptions, framed } from './frame.ts';

/** Draws samples; `x` of the frame is in s from the first sample, `y` in what the samples are in. */
export function waveformChart(
  options: FrameOptions,
  samples: Float64Array,
  sampleRate: number,
): Drawing {
  return framed(options, ({ x, y, width }) => {
    const columns = Math.max(1, Math.floor(width));
    const per = samples.length / columns;
    const spans = Array.from({ length: columns }, (_, column) => {
      const from = Math.floor(column * per);
      const to = Math.max(from + 1, Math.floor((column + 1) * per));
      let low = Number.POSITIVE_INFINITY;
      let high = Number.NEGATIVE_INFINITY;
      for (let n = from; n < Math.min(to, samples.length); n++) {
        low = Math.min(low, samples[n] as number);
        high = Math.max(high, samples[n] as number);
      }
      return { time: from / sampleRate, low, high };
    }).filter(({ low }) => Number.isFinite(low));
    // A silent stretch keeps a hair's breadth.
    const shape = area<(typeof spans)[number]>()
      .x(({ time }) => x(time))
      .y0(({ low }) => y(low) + 0.4)
      .y1(({ high }) => y(high) - 0.4)
      .digits(1);
    return element('path', { d: shape(spans) ?? '', fill: options.colours.series[0] });
  });
}
