/** What would free a module of a kind, when the rack has too few. */

import type { Net } from '../../electrical/nets.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { pluggedJacks, suits } from '../../patch/rack/assign.ts';
import { strokes } from '../../timing/edges.ts';
import { rhythmSettings } from '../../timing/settings.ts';
import { songSeconds } from '../../timing/song.ts';
import type { Context } from '../finding.ts';

/** Strokes that are compared before two channels are held to be the same. */
const ENOUGH = 20_000;
/** Proposals that are made at most. */
const MOST = 3;

/**
 * Proposes what to do without.
 * @param wanted a module that there is no unit for.
 * @returns sentences, at most three; none if nothing is seen.
 */
export function freeing(wanted: PatchModule, context: Context): readonly string[] {
  const { kind } = wanted.definition;
  const proposals =
    kind === 'trigger-converter'
      ? [...withoutConverter(wanted, context), ...shared(wanted, context)]
      : kind === 'multiple'
        ? bypassed(context)
        : shared(wanted, context);
  return proposals.slice(0, MOST);
}

/** Converters that go before an envelope in whose place the rack has one for voltage triggers. */
function withoutConverter(wanted: PatchModule, { patch, netlist }: Context): readonly string[] {
  const { owned } = patch;
  if (owned === undefined) return [];
  const used = (name: string): number =>
    patch.modules.filter(({ unit }) => unit?.name === name).length;
  return patch.modules.flatMap((module) => {
    if (module.definition.kind !== 'trigger-converter' || !helps(module, wanted, patch)) return [];
    const net = netlist.at({ module: module.name, jack: 'switch-out' });
    const from = netlist.at({ module: module.name, jack: 'voltage-in' })?.outputs[0];
    const [fired, ...others] = net?.inputs ?? [];
    if (fired === undefined || others.length > 0 || from === undefined) return [];
    const { definition } = fired.module;
    if (definition.settings.trigger?.type !== 'choice') return [];
    const free = owned.units.find(
      (unit) =>
        unit.definition.kind === definition.kind &&
        (unit.fixed.trigger ?? 'voltage') === 'voltage' &&
        used(unit.name) < unit.count,
    );
    if (free === undefined) return [];
    return [
      `Play ${fired.module.name} on ${free.name}, which takes voltage triggers: set trigger: voltage, plug ` +
        `${from.module.name}.${from.jack.name} straight into it, and ${module.name} is free.`,
    ];
  });
}

/** Whether one less is wanted without this module, or its unit is one that the wanted module can be. */
function helps(freed: PatchModule, wanted: PatchModule, { owned, cables }: Patch): boolean {
  const unit = owned?.units.find(({ name }) => name === freed.unit?.name);
  return unit === undefined || suits(wanted, unit, false, pluggedJacks(cables));
}

/** Pairs of modules that are set alike and always get the same: one of them is enough. */
function shared(wanted: PatchModule, context: Context): readonly string[] {
  const { definition } = wanted;
  const { patch, netlist } = context;
  const same = patch.modules.filter((module) => module.definition === definition);
  return same.flatMap((second, index) => {
    const first = same
      .slice(0, index)
      .find((one) => alike(one, second) && getTheSame(one, second, context));
    if (first === undefined || !(helps(first, wanted, patch) || helps(second, wanted, patch)))
      return [];
    const outputs = second.jacks.filter(
      ({ name, direction }) =>
        direction === 'out' && netlist.at({ module: second.name, jack: name }),
    );
    const names = outputs.map(({ name }) => `${first.name}.${name}`).join(' and ');
    return [
      `${first.name} and ${second.name} always do the same: take ${names || first.name} for both, with a multiple, and one is free.`,
    ];
  });
}

function alike(a: PatchModule, b: PatchModule): boolean {
  return JSON.stringify(a.settings) === JSON.stringify(b.settings);
}

function getTheSame(a: PatchModule, b: PatchModule, context: Context): boolean {
  const inputs = a.jacks.filter(({ direction }) => direction === 'in');
  const nets = inputs.map(({ name }) => [
    context.netlist.at({ module: a.name, jack: name }),
    context.netlist.at({ module: b.name, jack: name }),
  ]);
  // Without an input, as noise is, two of them need not be the same.
  if (!nets.some(([one]) => one !== undefined)) return false;
  return nets.every(([one, other]) => one === other || fireTogether(one, other, context));
}

/** Whether two nets are driven by channels of one rhythm that play the same strokes. */
function fireTogether(a: Net | undefined, b: Net | undefined, { patch }: Context): boolean {
  const [one, other] = [a?.outputs[0], b?.outputs[0]];
  if (one === undefined || one.module !== other?.module) return false;
  if (a?.outputs.length !== 1 || b?.outputs.length !== 1) return false;
  if (one.module.definition.role !== 'score') return false;
  const settings = rhythmSettings(one.module.settings);
  const [first, second] = [one, other].map(({ jack }) =>
    settings.channels.findIndex(({ name }) => name === jack.name),
  ) as [number, number];
  if (first < 0 || second < 0) return false;
  const next = strokes(settings, {
    sampleRate: USUAL_RATE,
    seed: patch.seed,
    module: one.module.name,
    until: songSeconds(settings),
  });
  const played: [string[], string[]] = [[], []];
  for (let count = 0, stroke = next(); stroke && count < ENOUGH; count++, stroke = next()) {
    const at = `${stroke.sample} ${stroke.end}`;
    if (stroke.channel === first) played[0].push(at);
    if (stroke.channel === second) played[1].push(at);
  }
  return played[0].length > 0 && played[0].join() === played[1].join();
}

/** Multiples that only lengthen a cable. */
function bypassed({ patch }: Context): readonly string[] {
  const plugs = pluggedJacks(patch.cables);
  return patch.modules.flatMap(({ name, definition }) =>
    definition.kind === 'multiple' && (plugs.get(name)?.size ?? 0) <= 2
      ? [`${name} has no more than two plugs: one cable in its place does the same.`]
      : [],
  );
}
