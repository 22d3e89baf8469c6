/** `forehear listen`: the worksheet in the browser, served on this machine alone. */

import type { Command } from 'commander';
import { readBundles } from '../../page/host/bundles.ts';
import { DiagramThread } from '../../page/host/diagram-thread.ts';
import { interruptible } from '../interrupt.ts';
import { openInBrowser } from '../open.ts';
import {
  jsonOption,
  PATCH_HELP,
  quietOption,
  rackOption,
  setOption,
  wholeArgument,
} from '../options.ts';
import { servePatch } from '../served-patch.ts';
import { say, sayJson, tell } from '../standard-output.ts';

interface Options {
  port?: number;
  open?: true;
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('listen')
    .argument('<patch>', PATCH_HELP)
    .summary('hear and change a patch in the browser')
    .description(
      'Serve the worksheet of a patch on this machine alone: every setting can be moved and heard at ' +
        'once, in the same samples as "render" makes. It follows the file on the disk and can save to it. ' +
        'Prints the address; Ctrl-C ends it.',
    )
    .option(
      '--port <number>',
      'port, 1024 to 65535 (unless set: any that is free)',
      wholeArgument(1024, 65_535),
    )
    .option('--open', 'open the page in the browser')
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(jsonOption(': the address'))
    .addOption(quietOption('the address and errors'))
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options): Promise<void> {
  const bundles = readBundles(new URL('../page/', import.meta.url));
  const diagrams = new DiagramThread(new URL('./diagram-worker.js', import.meta.url));
  const served = await servePatch(file, bundles, (figures) => diagrams.draw(figures), options);
  try {
    await interruptible(async (signal) => {
      announce(served.url, options);
      // This runs while the person opens the browser.
      served.prepare();
      await stopped(signal);
    });
  } finally {
    diagrams.close();
    await served.close();
  }
}

function stopped(signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    if (signal.aborted) resolve();
    else signal.addEventListener('abort', () => resolve());
  });
}

function announce(url: string, { json, quiet, open }: Options): void {
  if (json) sayJson({ url });
  else say(url);
  if (!quiet && !json)
    tell('Open this address on this machine. Start with the volume low. Ctrl-C ends it.');
  if (open) void openInBrowser(url);
}

const EXAMPLES = `
Examples:
  forehear listen patches/closed-hat.yaml
  forehear listen my-kit.yaml --open
  forehear listen my-kit.yaml --rack patches/racks/teaching-cabinet.yaml --port 8800`;
