/** `forehear volts`: the voltages of every net, and how far they pass the thresholds of its inputs. */

import type { Command } from 'commander';
import type { InputLevels, NetLevels } from '../../electrical/levels.ts';
import { outsetOf } from '../../findings/outset.ts';
import { inMargin, inPercent, inVolts } from '../../findings/words.ts';
import { RAIL_VOLTS } from '../../modules/facts.ts';
import { jackName } from '../../patch/patch.ts';
import {
  jsonOption,
  PATCH_HELP,
  quietOption,
  rackOption,
  setOption,
  toleranceOption,
} from '../options.ts';
import { readPatchFile } from '../read-patch.ts';
import { say, sayJson } from '../standard-output.ts';
import { table, wrapped } from '../table.ts';

interface Options {
  tolerance: number;
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('volts')
    .argument('<patch>', PATCH_HELP)
    .summary('print the volts of every net, and the margins of its triggers')
    .description(
      'Print, for every input that a cable reaches, the lowest and highest volts there, the ' +
        'threshold of a trigger and by how much it is passed.',
    )
    .addOption(
      toleranceOption(
        'also the worst case with every resistance, level and threshold off by up to this',
      ),
    )
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action((file: string, { tolerance, rack, set, json, quiet }: Options) => {
      const patch = readPatchFile(file, set, rack);
      const nets = [...outsetOf(patch, tolerance).levels.values()];
      if (json) sayJson({ tolerance, nets: nets.map(asData) });
      else if (!quiet) say(asText(nets, tolerance));
    });
}

function asText(nets: readonly NetLevels[], tolerance: number): string {
  const reached = nets.filter(({ inputs }) => inputs.length > 0);
  if (reached.length === 0) return 'No cable reaches an input.';
  const worst = tolerance > 0 || nets.some(isInDoubt);
  const rows = reached.flatMap((level) =>
    level.inputs.map((input) => [
      nameOf(input),
      level.net.outputs.map(({ module, jack }) => `${module.name}.${jack.name}`).join(' + ') ||
        'nothing',
      inVolts(level.low),
      inVolts(level.high),
      ...(worst ? [`${inVolts(level.worst.low)} to ${inVolts(level.worst.high)}`] : []),
      ...triggerCells(input, level.rest),
    ]),
  );
  const head = [
    'input',
    'driven by',
    'low',
    'high',
    ...(worst ? [tolerance > 0 ? `within ${inPercent(tolerance)}` : 'by the rack'] : []),
    'on',
    'off',
    worst ? 'worst margin' : 'margin',
  ];
  const volts = table([head, ...rows]);
  return reached.some(carriesSound) ? `${volts}\n\n${wrapped(OF_SOUND)}` : volts;
}

/** What a wave's highest volts are only playing tells: they are not worked out as those of a gate are. */
const OF_SOUND =
  'Sound is listed as loud as its modules usually give it. Noise, resonance and feedback can go ' +
  `higher, up to ${RAIL_VOLTS} V either way: "forehear render --tap JACK" shows what the song makes of it.`;

function carriesSound({ net }: NetLevels): boolean {
  return net.outputs.some(({ jack }) => jack.signal === 'audio');
}

/** Whether the rack states by how much something on the net may be off. */
function isInDoubt({ net }: NetLevels): boolean {
  return [...net.outputs, ...net.inputs].some(({ jack }) => jack.facts.doubt !== undefined);
}

function triggerCells({ trigger }: InputLevels, rest: number): readonly string[] {
  if (trigger === undefined) return ['', '', ''];
  const { type, on, off, margin, release } = trigger;
  const side = type === 'voltage' ? 'over' : 'under';
  const isOn = type === 'voltage' ? rest >= on : rest <= on;
  const idle = release < 0 ? ', never lets go' : isOn ? ', on at rest' : '';
  return [
    `${side} ${inVolts(on)}`,
    `${type === 'voltage' ? 'under' : 'over'} ${inVolts(off)}`,
    `${inMargin(trigger)}${margin < 0 ? '' : idle}`,
  ];
}

function nameOf({ terminal: { module, jack } }: InputLevels): string {
  return `${module.name}.${jack.name}`;
}

/** The shape that scripts rely on; the fields of a trigger are null for an input without one. */
function asData({ net, low, high, rest, worst, inputs }: NetLevels): object {
  return {
    jacks: net.jacks.map(jackName),
    low,
    high,
    rest,
    worst,
    inputs: inputs.map((input) => {
      const { trigger } = input;
      return {
        jack: nameOf(input),
        kind: trigger?.type ?? input.terminal.jack.facts.trigger?.type ?? 'plain',
        on: trigger?.on ?? null,
        off: trigger?.off ?? null,
        hysteresis: trigger === undefined ? null : Math.abs(trigger.on - trigger.off),
        driven: trigger?.driven ?? null,
        margin: trigger?.margin ?? null,
        marginPercent: trigger === undefined ? null : 100 * trigger.share,
        release: trigger?.release ?? null,
      };
    }),
  };
}

const EXAMPLES = `
Examples:
  forehear volts patches/closed-hat.yaml
  forehear volts my-kit.yaml --tolerance 5% --rack patches/racks/teaching-cabinet.yaml

Where the rack states by how much a measured value may be off ("high: 3.3 V +- 2 %"), that holds for
it instead, with or without --tolerance. A margin is what the level has over the threshold; for a
switch trigger, what the closed switch has under it. Where several outputs are joined, it is that of
the output that, alone, gets least far. Sound is listed as loud as its modules usually give it:
resonance, noise and feedback are not in that, and end at ${RAIL_VOLTS} V.`;
