/**
 * The colours and line styles of charts. Every series has a colour and a dash of its own, so that a
 * print without colour, or a reader who sees few of them, can still tell the lines apart.
 *
 * Source of the colours: Okabe & Ito, Color Universal Design (2008), chosen to be told apart with any
 * kind of colour vision (from memory). Its yellow is left out: it can hardly be seen on white.
 */

export interface ChartColours {
  readonly paper: string;
  readonly ink: string;
  /** For what is there and not named. */
  readonly faint: string;
  readonly grid: string;
  /** Blue, vermilion, bluish green, the ink, reddish purple, orange, sky blue. */
  readonly series: readonly string[];
}

const BLUE = '#0072b2';
const VERMILION = '#d55e00';
const GREEN = '#009e73';
const PURPLE = '#cc79a7';
const ORANGE = '#e69f00';
const SKY = '#56b4e9';

/** For a picture that stands alone, and for print. */
export const PRINT: ChartColours = {
  paper: '#ffffff',
  ink: '#1b2126',
  faint: '#a9b1b8',
  grid: '#e3e7ea',
  series: [BLUE, VERMILION, GREEN, '#1b2126', PURPLE, ORANGE, SKY],
};

/** The same on a dark page; blue is lightened to keep its distance from the paper. */
export const DARK: ChartColours = {
  paper: '#14181c',
  ink: '#e4e9ed',
  faint: '#59636c',
  grid: '#2b333a',
  series: ['#3d9bd9', '#e8762b', '#19b48a', '#e4e9ed', PURPLE, ORANGE, SKY],
};

/** For a picture in a page that has both: {@link colourVariables} gives the values. */
export const IN_PAGE: ChartColours = {
  paper: 'var(--paper)',
  ink: 'var(--ink)',
  faint: 'var(--faint)',
  grid: 'var(--grid)',
  series: PRINT.series.map((_, index) => `var(--series-${index + 1})`),
};

/** The style sheet's declarations for {@link IN_PAGE}. */
export function colourVariables({ paper, ink, faint, grid, series }: ChartColours): string {
  const named = series.map((colour, index) => `--series-${index + 1}:${colour}`);
  return [`--paper:${paper}`, `--ink:${ink}`, `--faint:${faint}`, `--grid:${grid}`, ...named].join(
    ';',
  );
}

/** A picture in the colours of {@link IN_PAGE}, in colours of its own. */
export function coloured(picture: string, colours: ChartColours): string {
  const values = new Map(
    colourVariables(colours)
      .split(';')
      .map((one) => one.split(':') as [string, string]),
  );
  return picture.replace(/var\((--[a-z0-9-]+)\)/g, (name, key) => values.get(key) ?? name);
}

const DASHES = [undefined, '7 3', '2 2.5', '9 3 2 3'] as const;

/** Series up to which each has a dash of its own, so that it is told without its colour. */
export const LINE_STYLES = DASHES.length;

/** How a series is drawn: 28 differ from one another, and neighbours in colour and dash. */
export function seriesStyle(
  index: number,
  { series }: ChartColours,
): { readonly stroke: string; readonly dash: string | undefined } {
  return {
    stroke: series[index % series.length] as string,
    dash: DASHES[index % DASHES.length],
  };
}
