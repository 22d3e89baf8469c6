/** `forehear lesson`: a patch built up stage by stage, to listen to and to read. */

import { basename, extname, join } from 'node:path';
import type { Command } from 'commander';
import { LessonError, type LessonFiles, writeLesson } from '../../output/lesson/lesson.ts';
import { readProgram } from '../../page/host/bundles.ts';
import { lessonPage } from '../../page/host/lesson.ts';
import type { Patch } from '../../patch/patch.ts';
import { barsWithin, playedSeconds } from '../../timing/length.ts';
import type { Depth } from '../../wav/wav-pack.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import { interruptible } from '../interrupt.ts';
import {
  barsOption,
  depthOption,
  jsonOption,
  PATCH_HELP,
  quietOption,
  rackOption,
  rateOption,
  setOption,
} from '../options.ts';
import { OutputOption, requireFolder } from '../outputs.ts';
import { Progress } from '../progress.ts';
import { readPatchFile, requireOutput } from '../read-patch.ts';
import { say, sayJson } from '../standard-output.ts';
import { table } from '../table.ts';

/** Where the build leaves the scripts of pages. */
const BUNDLES = new URL('../page/', import.meta.url);

interface Options {
  output?: string;
  bars?: number;
  rate: number;
  depth: Depth;
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

/** The most bars of the pattern, unless set: as many as a class listens to. */
const MOST_BARS = 4;

export function register(program: Command): void {
  program
    .command('lesson')
    .argument('<patch>', PATCH_HELP)
    .summary('build a patch up stage by stage, for students')
    .description(
      'Write a clip and a picture of each stage of a patch (the source alone, filtered, the control ' +
        'voltage, enveloped, in the pattern, in the mix), one file with all of them, and a page to ' +
        'listen on that explains them, in Markdown too.',
    )
    .addOption(
      new OutputOption(
        '-o, --output <folder>',
        'where the files go (unless set: renders/NAME-lesson)',
      ),
    )
    .addOption(barsOption(`bars of the pattern (unless set: the song, at most ${MOST_BARS})`, 64))
    .addOption(rateOption())
    .addOption(depthOption())
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options): Promise<void> {
  const patch = readPatchFile(file, options.set, options.rack);
  requireOutput(patch, file);
  const name = file === '-' ? 'stdin' : basename(file, extname(file));
  const folder = options.output ?? join('renders', `${name}-lesson`);
  requireFolder('-o', folder);

  const progress = new Progress('Playing', options.quiet === true, 'stages');
  try {
    const lesson = await interruptible((signal) =>
      writeLesson(patch, {
        folder,
        name,
        sampleRate: options.rate,
        depth: options.depth,
        bars: options.bars ?? barsOf(patch),
        onProgress: (done, total) => progress.show(done, total),
        signal,
        page: (told, place) => lessonPage(told, place, readProgram(BUNDLES, 'lesson')),
      }),
    );
    progress.end();
    if (lesson.stages.length === 0)
      throw wrongFile(
        file,
        `nothing reaches the output, so there is nothing to build up. "forehear check" says more.`,
      );
    if (options.json) sayJson(lesson);
    else if (!options.quiet) describeLesson(lesson);
  } catch (error) {
    if (error instanceof LessonError) throw wrongRequest(error.message);
    throw error;
  } finally {
    progress.end();
  }
}

function barsOf(patch: Patch): number {
  const bars = barsWithin(patch, playedSeconds(patch, { unit: 'song' })).length;
  return Math.min(MOST_BARS, Math.max(1, bars));
}

function describeLesson(lesson: LessonFiles): void {
  const { stages, joined, page, markdown, targetLufs, ceilingDbtp } = lesson;
  say(table(stages.map(({ title, jack, file }, index) => [String(index + 1), title, jack, file])));
  if (targetLufs !== null)
    say(
      `\nEvery clip is at ${targetLufs.toFixed(1)} LUFS (ITU-R BS.1770), the loudest at which none passes ${ceilingDbtp} dBTP.`,
    );
  say(`${joined}\n${page}\n${markdown}`);
}

const EXAMPLES = `
Examples:
  forehear lesson patches/closed-hat.yaml
  forehear lesson patches/two-bar-kit.yaml -o renders/kit-lesson --bars 2

A control voltage is a picture and no clip: it is direct current, and not for loudspeakers.`;
