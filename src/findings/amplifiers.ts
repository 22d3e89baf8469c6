/** What drives the control inputs of amplifiers, and what gain that gives. */

import type { NetLevels } from '../electrical/levels.ts';
import type { Net } from '../electrical/nets.ts';
import { exponentialGain } from '../modules/amplifier.ts';
import { dbOfGain, gainOfDb } from '../modules/dsp/math.ts';
import { steadyLevel } from '../modules/low-pass-gate.ts';
import type { JackRef, PatchModule } from '../patch/patch.ts';
import type { Context } from './finding.ts';

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

/** What a control voltage opens. A low-pass gate is as loud as its cell lets it be, and shuts at its own pace. */
type Opened = 'amplifier' | 'low-pass-gate';

/**
 * The amplifiers whose control input has a driver.
 * @param kinds amplifiers alone unless given.
 */
export function drivenAmplifiers(
  { patch, netlist, levels }: Pick<Context, 'patch' | 'netlist' | 'levels'>,
  kinds: readonly Opened[] = ['amplifier'],
): readonly DrivenAmplifier[] {
  return patch.modules.flatMap((module): DrivenAmplifier[] => {
    if (!kinds.some((kind) => kind === module.definition.kind)) return [];
    const control = { module: module.name, jack: 'control' };
    const net = netlist.at(control);
    const found = net && levels.get(net);
    if (net === undefined || found === undefined || net.outputs.length === 0) return [];
    const envelope = envelopeOn(net, netlist.at);
    const share = envelope === undefined ? 1 : found.high / (envelope.settings.peak as number);
    return [{ module, control, net, levels: found, envelope, share }];
  });
}

/** The envelope that a net carries, followed back through attenuators that only make it smaller. */
function envelopeOn(start: Net, at: (ref: JackRef) => Net | undefined): PatchModule | undefined {
  const seen = new Set<Net>();
  for (let net: Net | undefined = start; net !== undefined && !seen.has(net); ) {
    seen.add(net);
    const [output, ...others] = net.outputs;
    if (output === undefined || others.length > 0) return undefined;
    const { module } = output;
    if (module.definition.kind === 'envelope') return module;
    const { level, offset } = module.settings as { level: number; offset: number };
    if (module.definition.kind !== 'attenuator' || offset !== 0 || level <= 0) return undefined;
    net = at({ module: module.name, jack: 'in' });
  }
  return undefined;
}

/** The gain of an amplifier at a steady control voltage, before and after its highest. */
export function gainAt(
  { definition, settings }: PatchModule,
  volts: number,
): { readonly law: number; readonly gain: number } {
  if (definition.kind === 'low-pass-gate') {
    const gain = settings.mode === 'low-pass' ? 1 : steadyLevel(volts, settings.unity as number);
    return { law: gain, gain };
  }
  const { response, unity, range } = settings as { response: string; unity: number; range: number };
  const law =
    response === 'linear' ? Math.max(0, volts / unity) : exponentialGain(volts, unity, range);
  return { law, gain: Math.min(law, gainOfDb(settings['max-gain'] as number)) };
}

/** A gain in decibels, for people to read: -18.2. */
export function inDb(gain: number): string {
  return `${Number(dbOfGain(gain).toFixed(1))} dB`;
}
