/** The charts of a sheet: the clip over time, and each voice's hit and spectrum. */

import { largest } from '../../modules/dsp/extremes.ts';
import { type Drawing, svgPicture } from '../chart/chart-svg.ts';
import type { ChartColours } from '../chart/colours.ts';
import { lineChart, type Series } from '../chart/lines.ts';
import { waveformChart } from '../chart/waveform.ts';
import type { SheetSound } from './sound.ts';

export interface SheetChart {
  readonly svg: string;
  readonly caption: string;
}

const WIDTH = 760;
const HEIGHT = 190;
const RANGE_DB = 66;

/** Draws the charts; a voice that is silent is left out. */
export function sheetCharts(sound: SheetSound, colours: ChartColours): readonly SheetChart[] {
  const { mix, sampleRate, voices } = sound;
  const peak = mix.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  if (peak === 0) return [];
  const frame = { width: WIDTH, plotHeight: HEIGHT, colours, title: '' };
  const chart = (drawing: Drawing, caption: string): SheetChart => ({
    svg: svgPicture(drawing, caption, colours),
    caption,
  });
  const limit = Math.ceil(peak * 10) / 10;
  const seconds = mix.length / sampleRate;
  const heard = voices.filter(({ hit }) => hit.length > 0);
  const series = (of: 'hit' | 'bands'): Series[] =>
    heard.map((voice) => ({ name: voice.name, points: voice[of] }));
  const longest = largest(heard.map(({ hit }) => hit.at(-1)?.[0] ?? 0));
  return [
    chart(
      waveformChart(
        {
          ...frame,
          x: { label: 'time, s', scale: 'linear', domain: [0, seconds] },
          y: { label: 'of full scale', scale: 'linear', domain: [-limit, limit] },
          plotHeight: 110,
        },
        mix,
        sampleRate,
      ),
      'The clip over time.',
    ),
    chart(
      lineChart(
        {
          ...frame,
          x: { label: 'time, ms', scale: 'linear', domain: [-40, longest] },
          y: { label: 'level, dBFS', scale: 'linear', domain: levels(series('hit')) },
        },
        series('hit'),
      ),
      'Envelope: the level of one hit of each voice, the one with the most time to itself; smoothed over 21 ms.',
    ),
    chart(
      lineChart(
        {
          ...frame,
          x: { label: 'frequency, Hz', scale: 'log', domain: [25, 20_000] },
          y: { label: 'level, dBFS', scale: 'linear', domain: levels(series('bands')) },
        },
        series('bands'),
      ),
      'Spectrum of each voice through the clip, in third-octave bands; a full-scale sine reads 0 dB.',
    ),
  ];
}

function levels(series: readonly Series[]): readonly [number, number] {
  const all = series.flatMap(({ points }) => points.flatMap(([, db]) => db ?? []));
  const top = 6 * Math.ceil((largest(all) + 1) / 6);
  return [top - RANGE_DB, top];
}
