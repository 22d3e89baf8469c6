/** What drives the control inputs of amplifiers, and what gain that gives. */

import type { NetLevels } from '../electrical/levels.ts';
import type { Net } from '../electrical/nets.ts';
import type { Definition, Opened } from '../modules/definition.ts';
import { dbOfGain } from '../modules/dsp/math.ts';
import type { JackRef, PatchModule } from '../patch/patch.ts';
import { settingText } from '../patch/setting-text.ts';
import type { Context } from './finding.ts';
import { inVolts } from './words.ts';

export interface DrivenAmplifier {
  readonly module: PatchModule;
  readonly control: JackRef;
  readonly net: Net;
  /** V at the control input, as its drivers may make it. */
  readonly levels: NetLevels;
  /** The envelope whose voltage it is, at most scaled on its way. */
  readonly envelope: PatchModule | undefined;
  /** V at the input for each V of the envelope. */
  readonly share: number;
}

/**
 * The amplifiers, and what else a voltage opens at once, whose control input has a driver.
 * @param only the name of the one that is asked for; all unless given.
 */
export function drivenAmplifiers(context: Driven, only?: string): readonly DrivenAmplifier[] {
  return drivenOpenings(context, only).filter(({ module }) => isAmplifier(module.definition));
}

/** Whether volts open it at once, as an amplifier. */
export function isAmplifier({ opened, lags }: Definition): boolean {
  return opened !== undefined && lags === undefined;
}

type Driven = Pick<Context, 'patch' | 'netlist' | 'levels'>;

/** The same, and what opens and shuts at its own pace. */
export function drivenOpenings(
  { patch, netlist, levels }: Driven,
  only?: string,
): readonly DrivenAmplifier[] {
  return patch.modules.flatMap((module): DrivenAmplifier[] => {
    if (only !== undefined && module.name !== only) return [];
    if (module.definition.opened === undefined) return [];
    const control = { module: module.name, jack: 'control' };
    const net = netlist.at(control);
    const found = net && levels.get(net);
    if (net === undefined || found === undefined || net.outputs.length === 0) return [];
    const envelope = envelopeOn(net, netlist.at);
    const peak = envelope?.definition.course?.(envelope.settings).peak;
    const share = peak === undefined ? 1 : found.high / peak;
    return [{ module, control, net, levels: found, envelope, share }];
  });
}

/** What an output gets of a net that something drives. */
interface OutputTerm {
  readonly from: Net;
  readonly gain: number;
}

/** The envelope that a net carries, followed back through what only makes it larger or smaller. */
function envelopeOn(start: Net, at: (ref: JackRef) => Net | undefined): PatchModule | undefined {
  const seen = new Set<Net>();
  for (let net: Net | undefined = start; net !== undefined && !seen.has(net); ) {
    seen.add(net);
    const [output, ...others] = net.outputs;
    if (output === undefined || others.length > 0) return undefined;
    const { name, definition, settings } = output.module;
    if (definition.course !== undefined) return output.module;
    const terms: readonly OutputTerm[] = (definition.sums?.(settings) ?? []).flatMap(
      ({ output: sum, input, gain }) => {
        const from = sum === output.jack.name ? at({ module: name, jack: input }) : undefined;
        return from === undefined || from.outputs.length === 0 ? [] : [{ from, gain }];
      },
    );
    const [one] = terms;
    if (one === undefined || terms.length > 1 || one.gain <= 0) return undefined;
    net = one.from;
  }
  return undefined;
}

/** V that the played hits of its envelope reach at the control input; undefined where none drives it. */
export function reachedVolts(
  { envelope, share }: DrivenAmplifier,
  context: Context,
): number | undefined {
  const played = context.envelopes().find(({ module }) => module === envelope);
  const top = played?.hits.reduce((most, hit) => Math.max(most, hit.top), 0);
  return top === undefined ? undefined : top * share;
}

/** The gain of such a module at a steady control voltage, before and after its highest. */
export function gainAt({ definition, settings }: PatchModule, volts: number): Opened {
  return definition.opened?.(settings, volts) ?? { law: 1, gain: 1, unity: 0 };
}

/** The unity of such a module, as the file has it where it is a setting. */
export function unityText(module: PatchModule, unity: number): string {
  return hasUnity(module) ? settingText(module, 'unity') : inVolts(unity);
}

/** The rest of an advice: to move the unity too, where it is a setting. */
export function orUnity(move: 'raise' | 'lower', module: PatchModule): string {
  return hasUnity(module) ? `, or ${move} the unity of ${module.name}` : '';
}

function hasUnity({ definition }: PatchModule): boolean {
  return Object.hasOwn(definition.settings, 'unity');
}

/** A gain in decibels, for people to read: -18.2. */
export function inDb(gain: number): string {
  return `${Number(dbOfGain(gain).toFixed(1))} dB`;
}
