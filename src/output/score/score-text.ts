/**
 * The score for a terminal: a block of lanes for each bar. A cell is an equal part of a beat, so what
 * stands in one column happens in the same part of the bar; within a cell nothing is told apart.
 */

import type { Phase } from '../../engine/phases.ts';
import { largest, leastCommonMultiple } from '../../modules/dsp/extremes.ts';
import { stepsOf } from './score-of.ts';
import { headingOf, shortNumber } from './score-words.ts';
import type {
  Bar,
  FollowedStep,
  GateMark,
  Lane,
  PhaseMark,
  ScoreSection,
  TimeScore,
} from './time-score.ts';

/** What the signs stand for. */
export const LEGEND = `x stroke or pulse, X accented, g ghost, 2-9 so many in one cell, = still high;
numbers: steps of a follower; A attack, d decay, s sustain, r release, c cut;
| beat, · step as written, without its swing.`;

const LONGEST_NAME = 26;
/** Cells that the number of a step needs, with a space. */
const ROOM_FOR_NUMBER = 3;

const LETTERS: { readonly [P in Phase]: string } = {
  attack: 'A',
  decay: 'd',
  sustain: 's',
  release: 'r',
  cut: 'c',
  rest: '',
};

/**
 * Draws a score.
 * @param width columns of the terminal.
 */
export function scoreText(score: TimeScore, width: number): string {
  const { bars, lanes, sections, ruler } = score;
  const names = lanes.map(({ name }) => shortened(name));
  const margin =
    largest(
      names.map((name) => name.length),
      4,
    ) + 1;
  const cells = cellsPerBeat(width - margin - 1, ruler.beats, sections);
  const blocks: string[] = [];
  let last: { rows: string; number: number } | undefined;
  let same: number[] = [];
  const flush = (): void => {
    const [first] = same;
    if (first === undefined || last === undefined) return;
    const through =
      same.at(-1) === first ? `bar ${first} is` : `bars ${first} to ${same.at(-1)} are`;
    blocks.push(`${through} as bar ${last.number}`);
    same = [];
  };
  for (const bar of bars) {
    const grid = new BarCells(score, bar, cells);
    const rows = lanes
      .map((lane, index) => `${(names[index] as string).padEnd(margin)}${grid.row(lane)}`)
      .join('\n');
    const heading = headingOf(bar, sections);
    const key = `${rows}${heading}`;
    if (last?.rows === key) {
      same.push(bar.number);
      continue;
    }
    flush();
    last = { rows: key, number: bar.number };
    const from = `bar ${bar.number}, ${shortNumber(bar.start)} s: ${heading}`;
    blocks.push(`${from}\n${'step'.padEnd(margin)}${grid.ruler()}\n${rows}`);
  }
  flush();
  return blocks.join('\n\n');
}

/** As many as fit, a whole number for each step of every pattern if there is room for that. */
function cellsPerBeat(room: number, beats: number, sections: readonly ScoreSection[]): number {
  const most = Math.max(1, Math.floor(room / beats) - 1);
  const first = sections[0]?.stepsPerQuarter ?? 1;
  const all = leastCommonMultiple([
    ...new Set(sections.map(({ stepsPerQuarter }) => stepsPerQuarter)),
  ]);
  const unit = [all, first].find((candidate) => candidate <= most) ?? 1;
  return most - (most % unit);
}

function shortened(name: string): string {
  return name.length <= LONGEST_NAME ? name : `${name.slice(0, LONGEST_NAME - 1)}…`;
}

/** The cells of one bar. */
class BarCells {
  private readonly score: TimeScore;
  private readonly bar: Bar;
  private readonly cells: number;
  private readonly count: number;
  /** The steps where they would be without swing, as a pattern is written. */
  private readonly steps: readonly { readonly cell: number; readonly number: number }[];

  constructor(score: TimeScore, bar: Bar, cells: number) {
    this.score = score;
    this.bar = bar;
    this.cells = cells;
    const quarters = score.ruler.quartersAt(bar.end) - (bar.number - 1) * score.ruler.beats;
    this.count = Math.ceil(quarters * cells - 1e-6);
    this.steps = stepsOf(bar, score.sections)
      .map(({ straight, number }) => ({ cell: this.cellOf(straight), number }))
      .filter(({ cell }) => cell >= 0 && cell < this.count);
  }

  /** The numbers of the steps, or where they are too close those of the beats. */
  ruler(): string {
    const row = new Array<string>(this.count).fill(' ');
    const [first, second] = this.steps;
    const apart = first !== undefined && second !== undefined ? second.cell - first.cell : 0;
    if (apart >= ROOM_FOR_NUMBER)
      for (const { cell, number } of this.steps) write(row, cell, String(number));
    else
      for (let cell = 0; cell < this.count; cell += this.cells)
        write(row, cell, String(1 + cell / this.cells));
    return this.withBeats(row);
  }

  row(lane: Lane): string {
    switch (lane.type) {
      case 'gate':
        return this.gates(lane.marks);
      case 'steps':
        return this.positions(lane.marks);
      default:
        return this.phases(lane.marks);
    }
  }

  private gates(marks: readonly GateMark[]): string {
    const row = this.withSteps();
    const rises = new Array<number>(this.count).fill(0);
    for (const { start, end, accent, cause } of marks) {
      if (end < this.bar.start || start >= this.bar.end) continue;
      const from = this.cellOf(start);
      // A pulse that ends in a cell does not fill it.
      for (let cell = Math.max(0, from + 1); cell < Math.min(this.cellOf(end), this.count); cell++)
        row[cell] = '=';
      if (from < 0 || from >= this.count) continue;
      const before = rises[from] as number;
      rises[from] = before + 1;
      const one = cause === 'ghost' ? 'g' : 'x';
      row[from] = before > 0 ? String(Math.min(before + 1, 9)) : accent ? 'X' : one;
    }
    return this.withBeats(row);
  }

  private positions(marks: readonly FollowedStep[]): string {
    const row = this.withSteps();
    for (const { start, position } of marks) {
      const cell = this.cellOf(start);
      if (cell >= 0 && cell < this.count) write(row, cell, String(position));
    }
    return this.withBeats(row);
  }

  private phases(marks: readonly PhaseMark[]): string {
    const row = this.withSteps();
    let phase: Phase = 'rest';
    let next = 0;
    for (let cell = 0; cell < this.count; cell++) {
      let shown = LETTERS[phase];
      let attacks = false;
      for (; next < marks.length; next++) {
        const mark = marks[next] as PhaseMark;
        const at = this.cellOf(mark.start);
        if (at > cell) break;
        phase = mark.phase;
        attacks ||= at === cell && phase === 'attack';
        // A phase that ends in a cell is not wiped out by the rest after it.
        if (at < cell || phase !== 'rest') shown = LETTERS[phase];
      }
      // An attack is seen however short it is.
      if (attacks) shown = LETTERS.attack;
      if (shown !== '') row[cell] = shown;
    }
    return this.withBeats(row);
  }

  /** The cell of a time, under 0 before the bar. */
  private cellOf(time: number): number {
    const { ruler, sampleRate } = this.score;
    // What an input notices lies on whole samples, half a sample before its line at most.
    const quarters =
      ruler.quartersAt(time + 0.5 / sampleRate) - (this.bar.number - 1) * ruler.beats;
    return Math.floor(quarters * this.cells + 1e-6);
  }

  private withSteps(): string[] {
    const row = new Array<string>(this.count).fill(' ');
    const [first, second] = this.steps;
    if (first === undefined || second === undefined || second.cell - first.cell < 2) return row;
    for (const { cell } of this.steps) row[cell] = '·';
    return row;
  }

  private withBeats(row: readonly string[]): string {
    let text = '';
    row.forEach((cell, index) => {
      text += index % this.cells === 0 ? `|${cell}` : cell;
    });
    return `${text}|`;
  }
}

/** Writes a word from a cell on, as far as the row goes. */
function write(row: string[], cell: number, word: string): void {
  [...word].forEach((sign, index) => {
    if (cell + index < row.length) row[cell + index] = sign;
  });
}
