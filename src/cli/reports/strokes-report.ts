/** `forehear render --strokes`: each voice at each accent as one-shots, and the report on them. */

import { basename, extname } from 'node:path';
import { Option } from 'commander';
import {
  type StrokeFile,
  type StrokesWritten,
  writeStrokes,
} from '../../output/strokes/write-strokes.ts';
import type { Patch } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import type { Depth } from '../../wav/wav-pack.ts';
import { wrongFile } from '../exit.ts';
import { wholeArgument } from '../options.ts';
import { OutputOption, requireFolder } from '../outputs.ts';
import { Progress } from '../progress.ts';
import { requireOutput } from '../read-patch.ts';
import { say, sayJson, tell } from '../standard-output.ts';
import { table } from '../table.ts';
import { midiChoices, noteOption, sameNotes } from './midi-choices.ts';

interface Options {
  readonly strokes: string;
  readonly turns: number;
  readonly note: readonly string[];
  readonly rate: number;
  readonly depth: Depth;
  readonly json?: true;
  readonly quiet?: true;
}

/** Strokes that take turns, unless set. */
const TURNS = 4;
const MOST_TURNS = 32;

/** `--strokes`, `--turns` and `--note`. */
export function strokesOptions(): readonly [Option, Option, Option] {
  return [
    new OutputOption(
      '--strokes <folder>',
      'in place of the song: write each voice at each accent as a one-shot, and an SFZ file that maps them to notes',
    ).conflicts(['output', 'stems', 'tap', 'loop', 'bars', 'seconds', 'tail', 'watch']),
    new Option(
      '--turns <count>',
      `with --strokes: how many strokes take turns where chance makes no two alike, 1 to ${MOST_TURNS}`,
    )
      .argParser(wholeArgument(1, MOST_TURNS))
      .default(TURNS),
    noteOption('--strokes'),
  ];
}

/** Writes them and reports on them. */
export async function renderStrokes(
  patch: Patch,
  file: string,
  options: Options,
  signal: AbortSignal,
): Promise<void> {
  requireOutput(patch, file);
  const { notes } = midiChoices(patch, { note: options.note });
  requireFolder('--strokes', options.strokes);
  const progress = new Progress('Playing', options.quiet === true, 'strokes');
  try {
    const written = await writeStrokes(patch, {
      folder: options.strokes,
      name: file === '-' ? 'stdin' : basename(file, extname(file)),
      sampleRate: options.rate,
      depth: options.depth,
      turns: options.turns,
      notes,
      onProgress: (done, total) => progress.show(done, total),
      signal,
    });
    progress.end();
    if (written.files.length === 0)
      throw wrongFile(
        file,
        'no channel of a rhythm sequencer strikes a voice that is heard, so there are no strokes. Plug a channel into the trigger or strike of a voice, in place of a clock or a sequencer; "forehear check" says what else keeps a voice silent.',
      );
    if (options.json) sayJson(asData(written));
    else if (!options.quiet) {
      describe(written);
      warn(written.files);
    }
  } finally {
    progress.end();
  }
}

function describe({ files, sfz = '', unheard, silent }: StrokesWritten): void {
  say(
    table([
      ['note', 'stroke', 'length', 'peak', 'file'],
      ...files.map(({ note, strength, frames, sampleRate, peakDbfs, path }) => [
        String(note),
        strength,
        `${(frames / sampleRate).toFixed(3)} s`,
        `${peakDbfs.toFixed(1)} dBFS`,
        path,
      ]),
    ]),
  );
  say(`\n${sfz}\n  ${counted(files.length, 'stroke')}, each as loud as in the mix`);
  for (const { voice, jack, strength } of silent)
    say(
      `  ${strength} strokes of ${jack} are silent in ${voice}, so their velocities play nothing`,
    );
  if (unheard.length > 0)
    say(`  left out, since no single stroke of a channel makes it sound: ${unheard.join(', ')}`);
}

/** Warns of clipped and cut strokes. */
function warn(files: readonly StrokeFile[]): void {
  const channels = new Map(files.map((one) => [one.jack, one]));
  for (const words of sameNotes([...channels.values()].map(({ jack, note }) => ({ jack, note }))))
    tell(words);
  for (const { path, clipped, cut } of files) {
    if (clipped > 0)
      tell(
        `${path}: ${counted(clipped, 'sample')} above full scale, limited. Turn a level down, or use --depth 32f.`,
      );
    if (cut) tell(`${path}: the sound had not died away after 10 s and was cut there.`);
  }
}

/** The shape that scripts rely on. */
function asData({ files, sfz, unheard, silent }: StrokesWritten): object {
  return { files, sfz: sfz ?? null, unheard, silent };
}
