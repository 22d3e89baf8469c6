/** `forehear sheet`: the hand-out to patch from. */

import { basename, extname, join } from 'node:path';
import type { Command } from 'commander';
import { KINDS } from '../../modules/kinds.ts';
import { type Sheet, sheetOf } from '../../output/sheet/sheet.ts';
import { sheetMarkdown } from '../../output/sheet/sheet-markdown.ts';
import { MOST_SECONDS } from '../../output/sheet/sound.ts';
import { readBundles } from '../../page/host/bundles.ts';
import { DiagramThread } from '../../page/host/diagram-thread.ts';
import { withoutFolders } from '../../page/host/files.ts';
import { handOut } from '../../page/host/page.ts';
import type { Patch } from '../../patch/patch.ts';
import { type PatchTexts, readTexts } from '../../patch/texts.ts';
import { type Length, playedSeconds } from '../../timing/length.ts';
import { wrongRequest } from '../exit.ts';
import {
  barsOption,
  jsonOption,
  lengthAsked,
  PATCH_HELP,
  quietOption,
  rackOption,
  secondsOption,
  setOption,
} from '../options.ts';
import { forceOption, HTML, MARKDOWN, type Output, OutputOption, planOutputs } from '../outputs.ts';
import { Progress } from '../progress.ts';
import { type PatchOfFiles, problemsStop, readWithTexts } from '../read-patch.ts';
import { say, sayJson, tell } from '../standard-output.ts';

const BUNDLES = new URL('../page/', import.meta.url);

interface Options {
  output?: string;
  md?: true;
  clip: boolean;
  force?: true;
  bars?: number;
  seconds?: number;
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('sheet')
    .argument('<patch>', PATCH_HELP)
    .summary('write the hand-out to patch from')
    .description(
      'Write one HTML file that works offline and prints on A4 and Letter: block diagram, cables in ' +
        'patching order, settings, score of time, charts, findings, volts and the clip. Its settings ' +
        'can be moved and heard, as in "listen".',
    )
    .addOption(
      new OutputOption(
        '-o, --output <file>',
        'where to write it (unless set: renders/NAME.html); - is standard output',
      ),
    )
    .option('--md', 'write Markdown instead, without pictures and sound')
    .option('--no-clip', 'leave the clip out')
    .addOption(forceOption())
    .addOption(barsOption('bars of the clip, the song repeating as needed', 10_000))
    .addOption(secondsOption('how long the clip is, the song repeating as needed', MOST_SECONDS))
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options): Promise<void> {
  const { patch, texts } = readForHandOut(file, options);
  const length = lengthOf(options, patch);
  const name = file === '-' ? 'stdin' : basename(file, extname(file));
  const path = options.output ?? join('renders', `${name}.${options.md ? 'md' : 'html'}`);
  if (path === '-' && options.json)
    throw wrongRequest('-o -: standard output takes one thing, and --json is another.');
  const format = options.md ? MARKDOWN : HTML;
  const [output] = planOutputs(
    [{ option: '-o', path, format, makesFolder: true }],
    options.force,
  ) as [Output];

  const progress = new Progress('playing', options.quiet === true);
  const sheet = await sheetOf(patch, {
    length,
    onProgress: (seconds) => progress.show(seconds, undefined),
  }).finally(() => progress.end());
  const text = options.md ? sheetMarkdown(sheet) : await handOutWithin(sheet, texts, options);
  output.write(text);
  await output.deliver();

  if (options.json) sayJson({ file: path });
  else if (!options.quiet) {
    if (!output.isStandard) say(path);
    if (sheet.sound === undefined)
      tell('The patch has not exactly one output module, so the sheet is without its sound.');
    else if (sheet.sound.shortened)
      tell(
        `The song is longer than ${MOST_SECONDS} s; the sheet has the beginning of it. --bars or --seconds choose how much.`,
      );
  }
}

/** Writes the hand-out, its block diagrams within a limited time. */
async function handOutWithin(sheet: Sheet, texts: PatchTexts, options: Options): Promise<string> {
  const diagrams = new DiagramThread(new URL('./diagram-worker.js', import.meta.url));
  try {
    return await handOut(sheet, texts, readBundles(BUNDLES), options.clip, async (figure) => {
      const laid = await diagrams.place(figure);
      if (laid.isPlain && !options.quiet)
        tell(
          `The block diagram of ${figure.part || 'the patch'} is laid out plainly: it is too large to be laid out well in time.`,
        );
      return laid;
    });
  } finally {
    diagrams.close();
  }
}

/** Reads the patch, its files named as the sheet names them. */
function readForHandOut(file: string, { set, rack }: Options): PatchOfFiles {
  const read = readWithTexts(file, set, rack);
  const texts = withoutFolders(read.texts);
  if (texts.main === file) return read;
  const { patch, problems } = readTexts(texts, { kinds: KINDS });
  if (patch === undefined) throw problemsStop(problems, texts);
  return { patch, texts };
}

function lengthOf(options: Options, patch: Patch): Length {
  const length = lengthAsked(options);
  if (length.unit === 'bars' && playedSeconds(patch, length) > MOST_SECONDS)
    throw wrongRequest(
      `--bars ${length.value}: that is more than the ${MOST_SECONDS} s that a clip in a sheet has at most.`,
    );
  return length;
}

const EXAMPLES = `
Examples:
  forehear sheet patches/closed-hat.yaml
  forehear sheet my-kit.yaml --rack patches/racks/teaching-cabinet.yaml -o hand-outs/kit.html
  forehear sheet my-kit.yaml --no-clip --set hats.shape.release=80ms
  forehear sheet my-kit.yaml --md -o my-kit.md`;
