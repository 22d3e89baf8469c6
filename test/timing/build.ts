/** Short ways to write rhythm settings in tests. */

import type { Line, Pattern, Step } from '../../src/modules/score.ts';
import type { PerformanceOptions } from '../../src/timing/edges.ts';
import { edges, strokes } from '../../src/timing/edges.ts';
import type { RhythmSettings } from '../../src/timing/rhythm.ts';

const REST: Step = { strokes: 0, accent: false, flam: false, maybe: false };
const SIGNS: Readonly<Record<string, Partial<Step>>> = {
  '-': {},
  x: { strokes: 1 },
  X: { strokes: 1, accent: true },
  g: { strokes: 1, ghost: true },
  f: { strokes: 1, flam: true },
  '?': { strokes: 1, maybe: true },
};

/** Steps from drum tab. */
export function tab(text: string): Step[] {
  return [...text].map((sign) => ({ ...REST, ...(SIGNS[sign] ?? { strokes: Number(sign) }) }));
}

/** A pattern of one line of tab a channel. */
export function pattern(lines: readonly string[], more: Partial<Pattern> = {}): Pattern {
  return {
    name: 'groove',
    stepsPerQuarter: 4,
    length: Math.max(...lines.map((line) => line.length)),
    lines: lines.map((line, channel): Line => ({ channel, steps: tab(line) })),
    ...more,
  };
}

/** Settings for patterns played one after another; two channels, and no default that would do. */
export function settings(
  patterns: readonly Pattern[],
  more: Partial<RhythmSettings> = {},
): RhythmSettings {
  return {
    channels: [{ name: 'hat' }, { name: 'drum' }],
    patterns,
    song: patterns.map((_, index) => ({ pattern: index, repeats: 1 })),
    tempo: 120,
    swing: 0.5,
    chance: 0.5,
    flam: 0.022,
    clock: { count: 1, per: 'step' },
    follows: { count: 4, per: 'quarter' },
    gate: { unit: 'seconds', value: 0.008 },
    level: 6,
    'accent-level': 4,
    'ghost-level': -3,
    'grace-level': 0,
    'beats-per-bar': 4,
    'count-in': 0,
    ...more,
  };
}

type Some = Partial<PerformanceOptions> & { until: number };

/** All edges of a performance with an end. */
export function allEdges(of: RhythmSettings, some: Some) {
  return all(edges(of, { sampleRate: 48_000, seed: 'any', module: 'drums', ...some }));
}

/** All strokes of a performance with an end. */
export function allStrokes(of: RhythmSettings, some: Some) {
  return all(strokes(of, { sampleRate: 48_000, seed: 'any', module: 'drums', ...some }));
}

/** Times at which an output rises, s. */
export function rises(of: RhythmSettings, output: number, some: Some): number[] {
  return allEdges(of, some)
    .filter((edge) => edge.output === output && edge.volts > 0)
    .map(({ time }) => time);
}

function all<T>(next: () => T | undefined): T[] {
  const items: T[] = [];
  for (let item = next(); item !== undefined; item = next()) items.push(item);
  return items;
}
