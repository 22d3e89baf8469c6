/** `forehear survey`: what to measure at the cabinet before a patch is trusted, the least certain first. */

import type { Command } from 'commander';
import { FARTHEST, type SurveyPoint, surveyOf } from '../../findings/survey.ts';
import { inPercent, inVolts } from '../../findings/words.ts';
import { counted } from '../../patch/text/counted.ts';
import { jsonOption, PATCH_HELP, quietOption, rackOption, setOption } from '../options.ts';
import { readPatch } from '../read-patch.ts';
import { say, sayJson } from '../standard-output.ts';
import { table } from '../table.ts';

interface Options {
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('survey')
    .argument('<patch>', PATCH_HELP)
    .summary('list what to measure at the cabinet, the least certain first')
    .description(
      'List the trigger inputs to hold a probe to, with the volts to expect there and room to write ' +
        'down what is found, the least certain first.',
    )
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action((file: string, { rack, set, json, quiet }: Options) => {
      const points = surveyOf(readPatch(file, set, rack));
      if (json) sayJson({ points: points.map(asData) });
      else if (!quiet) say(asText(points));
    });
}

/** The shape that scripts rely on; what holds however far parts are off has null. */
function asData({ holds, ...point }: SurveyPoint): object {
  return { ...point, holdsPercent: holds === undefined ? null : Math.round(100 * holds) };
}

function asText(points: readonly SurveyPoint[]): string {
  if (points.length === 0) return 'Nothing drives a trigger input, so there is none to measure.';
  const rows = points.map((point) => [
    point.jack,
    point.drivers.join(' + '),
    inVolts(point.idle),
    inVolts(point.driven),
    `${point.type === 'voltage' ? 'over' : 'under'} ${inVolts(point.on)}`,
    certainty(point),
    '_____ / _____',
  ]);
  const head = ['at', 'driven by', 'idle', 'on', 'fires', 'holds until', 'found: idle / on'];
  return `${counted(points.length, 'trigger input')}, the least certain first. Plug what drives it and hold the probe to the jack.\n\n${table([head, ...rows])}`;
}

function certainty({ holds }: SurveyPoint): string {
  if (holds === undefined) return `over ${inPercent(FARTHEST)} off`;
  return holds === 0 ? 'fails as it is' : `${inPercent(holds)} off`;
}

const EXAMPLES = `
Examples:
  forehear survey patches/closed-hat.yaml
  forehear survey my-kit.yaml --rack patches/racks/teaching-cabinet.yaml --json

"Holds until 20 % off" means: with every resistance, level and threshold up to 20 % off, and all of
them the wrong way, the input still fires and lets go. Gates are short, so take an oscilloscope; a
meter does where a switch or a knob holds them. What is found goes into the rack's file
("jacks: { outputs: { ... } }"), and check and volts go by it.`;
