/**
 * A song counted in pulses that come from outside: what is due, step by step, and how many pulses
 * after its start. No tempo is in it, so `tempo` of the module, its patterns and its song is passed over.
 *
 * With `n per quarter` a quarter note is n pulses; with `n per step` a step is, whatever the pattern.
 * Places are exact fractions of a pulse, worked out from the start and never added up.
 */

import type { Span } from '../modules/definition.ts';
import { leastCommonMultiple } from '../modules/dsp/extremes.ts';
import type { Chance } from '../modules/dsp/random.ts';
import type { Line, Pattern, Step } from '../modules/score.ts';
import { PULSE_SECONDS } from './clock.ts';
import { decimal, product, type Ratio, type Split } from './fixed.ts';
import { Grid, type StepStretch, shapeOfStep, stretchesOf } from './grid.ts';
import type { Cause } from './pulses.ts';
import type { RhythmSettings } from './rhythm.ts';
import { barOfStep, type Groove, type Section, type Song, sectionsOf, songOf } from './song.ts';

/** A length in pulses, or in seconds. */
export interface Lasting {
  readonly unit: 'pulses' | 'seconds';
  readonly value: number;
}

/** One stroke, clock or start pulse. */
export interface Due {
  /** Pulses from the start of the plan. */
  readonly place: Split;
  /** Index of the channel, or what else it is for. */
  readonly output: number | 'clock' | 'start';
  readonly cause: Cause;
  readonly accent: boolean;
  /** The shortest of these. */
  readonly lasts: readonly Lasting[];
  /** How long before it a grace stroke comes, s; 0 for none. */
  readonly flam: number;
  readonly bar: number;
  readonly step: number;
}

/** A step and all that is due in it. */
export interface DueStep {
  /** Pulses from the start of the plan at which it begins, without swing. */
  readonly place: Split;
  readonly bar: number;
  /** From 1, in its pattern. */
  readonly step: number;
  readonly due: readonly Due[];
}

/**
 * Gives the steps of a song that repeats for ever, in order, the count-in's first.
 * @param chances of each channel.
 * @param before steps that were played before this plan, for chance.
 */
export function* dueSteps(
  settings: RhythmSettings,
  chances: readonly Chance[],
  before: number,
): Generator<DueStep, void> {
  const song = songInPulses(settings);
  const known = new Map<Groove, Ready>();
  let step = before;
  for (const section of sectionsOf(song)) {
    const isCountIn = section.bar < 1;
    const ready = known.get(section.groove) ?? readied(section.groove);
    known.set(section.groove, ready);
    for (const stretch of stretchesOf(section))
      for (let k = stretch.from; k < stretch.to; k++) {
        const at = { section, stretch, k, bar: barOfStep(section, k, settings['beats-per-bar']) };
        const due = [...clocksOf(at, ready), ...strokesOf(at, ready, settings, chances, step)];
        const isFirst = !isCountIn && section.firstStep + k === 0;
        const place = placeOf(at, ready.straight);
        if (isFirst) due.push({ ...START, place });
        yield { place, bar: at.bar, step: k + 1, due };
        if (!isCountIn) step += 1;
      }
  }
}

/** The song counted in pulses instead of samples. */
function songInPulses(settings: RhythmSettings): Song {
  const { follows } = settings;
  const bare = <T extends { readonly tempo?: number }>({ tempo: _, ...rest }: T) => rest;
  const { count, per } = follows;
  const all = settings.patterns.map(({ stepsPerQuarter }) => stepsPerQuarter);
  const common = per === 'step' ? leastCommonMultiple(all) : 1;
  const patterns = settings.patterns.map((pattern): Pattern => {
    // Whole numbers of beats a minute, so that no length is rounded.
    const tempo = per === 'step' ? (60 * common) / pattern.stepsPerQuarter : 60;
    return { ...pattern, tempo };
  });
  return songOf(
    { ...settings, tempo: 60, patterns, song: settings.song.map(bare) },
    count * common,
  );
}

interface AtStep {
  readonly section: Section;
  readonly stretch: StepStretch;
  /** Step of the section. */
  readonly k: number;
  readonly bar: number;
}

interface PlannedLine {
  readonly line: Line;
  readonly grid: Grid;
  readonly steps: readonly Step[];
}

/** What the playings of a groove share. */
interface Ready {
  readonly straight: Grid;
  /** That of the clock output. */
  readonly clock: Grid;
  readonly lines: readonly PlannedLine[];
}

function readied({ pattern, step, swing, clock }: Groove): Ready {
  const lines = pattern.lines
    .filter(({ steps }) => steps.length > 0)
    .map((line) => ({
      line,
      grid: new Grid(step, line.swing ?? swing),
      steps: line.steps.slice(0, pattern.length),
    }));
  const straight = new Grid(step, 0.5);
  return { straight, clock: clock.per === 'step' ? new Grid(step, swing) : straight, lines };
}

function placeOf({ stretch, k }: AtStep, grid: Grid): Split {
  return {
    whole: stretch.start.whole + grid.wholeTo(k, stretch),
    fraction: stretch.start.fraction + grid.fractionTo(k, stretch),
  };
}

function moved({ whole, fraction }: Split, by: Split, times: number): Split {
  return { whole: whole + times * by.whole, fraction: fraction + times * by.fraction };
}

function* strokesOf(
  at: AtStep,
  { lines }: Ready,
  settings: RhythmSettings,
  chances: readonly Chance[],
  played: number,
): Generator<Due, void> {
  const { section, k } = at;
  const { groove } = section;
  for (const { line, grid, steps } of lines) {
    const step = steps[(section.sinceChange + k) % steps.length] as Step;
    const chance = step.maybe ? (step.chance ?? groove.chance) : 1;
    if (step.strokes === 0) continue;
    if (chance < 1 && (chances[line.channel] as Chance).draw(played) >= chance) continue;
    const share = { num: 1n, den: BigInt(step.strokes) };
    const spacing = partOf(grid, at, share);
    const single = step.ghost ? 'ghost' : 'hit';
    const lasts = [lastingOf(step.gate ?? line.gate ?? settings.gate, grid, at, share)];
    for (let stroke = 0; stroke < step.strokes; stroke++)
      yield {
        place: moved(placeOf(at, grid), spacing, stroke),
        output: line.channel,
        cause: step.strokes > 1 ? 'ratchet' : single,
        accent: step.accent,
        lasts,
        flam: step.flam && stroke === 0 ? (step.flamSpacing ?? groove.flam) : 0,
        bar: at.bar,
        step: k + 1,
      };
  }
}

/** The clock pulses of a step: `clock.ts` says where they are. */
function* clocksOf(at: AtStep, { clock: grid }: Ready): Generator<Due, void> {
  const { section, k } = at;
  const { clock, pattern } = section.groove;
  const { count } = clock;
  const per = clock.per === 'step' ? 1 : pattern.stepsPerQuarter;
  const half = partOf(grid, at, { num: BigInt(per), den: 2n * BigInt(count) });
  const since = section.sinceChange + k;
  // Pulse m comes m per/count steps after the pattern began.
  const first = clock.per === 'step' ? 0 : Math.ceil((since * count) / per);
  const end = clock.per === 'step' ? count : Math.ceil(((since + 1) * count) / per);
  for (let m = first; m < end; m++) {
    const late = {
      num: BigInt(clock.per === 'step' ? m : m * per - since * count),
      den: BigInt(count),
    };
    yield {
      place: moved(placeOf(at, grid), partOf(grid, at, late), 1),
      output: 'clock',
      cause: 'clock',
      accent: false,
      lasts: [
        { unit: 'seconds', value: PULSE_SECONDS },
        { unit: 'pulses', value: half.whole + half.fraction },
      ],
      flam: 0,
      bar: at.bar,
      step: k + 1,
    };
  }
}

const START: Omit<Due, 'place'> = {
  output: 'start',
  cause: 'start',
  accent: false,
  lasts: [{ unit: 'seconds', value: PULSE_SECONDS }],
  flam: 0,
  bar: 1,
  step: 1,
};

function partOf(grid: Grid, { k, section }: AtStep, share: Ratio): Split {
  return grid.shareOfStep(share)[shapeOfStep(k, section.groove.pattern.length)] as Split;
}

function lastingOf(gate: Span, grid: Grid, at: AtStep, part: Ratio): Lasting {
  if (gate.unit === 'seconds') return { unit: 'seconds', value: gate.value };
  const { whole, fraction } = partOf(grid, at, product(part, decimal(gate.value)));
  return { unit: 'pulses', value: whole + fraction };
}
