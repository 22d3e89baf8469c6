/** What a rack says of the outputs on a net, for findings that follow from it. */

import type { Net } from '../electrical/nets.ts';
import { jackName, type Patch } from '../patch/patch.ts';
import { ALL_OUTPUTS } from '../patch/rack/jacks.ts';
import { formatBriefly } from '../patch/units.ts';
import type { BarredMend } from './finding.ts';

/** The words of a rack for what it says of an output. */
export type OutputFact = 'high' | 'rise' | 'width';

/**
 * Says what a rack states of the one output of a net, and where:
 * ` The rack gives drums.clock 3.3 V +- 0.1 V (own.yaml:3).` Empty where it states nothing.
 */
export function asRackSays(net: Net, fact: OutputFact, { owned }: Patch): string {
  const [output, ...others] = net.outputs;
  if (output === undefined || others.length > 0 || owned === undefined) return '';
  const { module, jack } = output;
  const unit = owned.units.find(({ name }) => name === module.unit?.name);
  const measured = [jack.name, ALL_OUTPUTS]
    .map((name) => unit?.jacks.get(name))
    .find((one) => one?.values[fact] !== undefined);
  if (measured === undefined || jack.facts.stage === undefined) return '';
  const { values, shares, doubts, places } = measured;
  const type = shares.has(fact) ? 'percent' : fact === 'high' ? 'voltage' : 'time';
  const value = formatBriefly(values[fact] ?? 0, type);
  const doubt = doubts[fact] === undefined ? '' : ` +- ${formatBriefly(doubts[fact], type)}`;
  const at = places[fact];
  const whereTo = at === undefined ? '' : ` (${at.file}:${at.line})`;
  const what = { high: 'a high level of', rise: 'a rise of', width: 'pulses of' }[fact];
  const name = jackName({ module: module.name, jack: jack.name });
  return ` The rack gives ${name} ${what} ${value}${doubt}${shares.has(fact) ? ' of what its settings say' : ''}${whereTo}.`;
}

/** Whether a rack fixes what the one output of a net gives, so that no setting raises or lowers it. */
export function isFixedByRack({ outputs: [output, ...others] }: Net): boolean {
  return others.length === 0 && output?.jack.facts.stage?.isFixed === true;
}

/**
 * What bars a mend of what a rack states of an output: `the rack gives drums.clock pulses of 1 ms
 * (own.yaml:3), whatever the settings`.
 */
export function barredByRack(net: Net, fact: OutputFact, patch: Patch): BarredMend {
  const said = asRackSays(net, fact, patch).trim().replace(/^T/, 't').replace(/\.$/, '');
  return { why: `${said}, whatever the settings` };
}
