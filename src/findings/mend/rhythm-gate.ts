/** The mend for gates of the wrong length: another gate on the rhythm module that gives them. */

import type { Net } from '../../electrical/nets.ts';
import type { Span } from '../../modules/definition.ts';
import type { JackRef, PatchModule } from '../../patch/patch.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { barredByRack } from '../by-rack.ts';
import type { Context, Mend } from '../finding.ts';
import { strokeSources } from '../triggers/stroke-sources.ts';
import { wire } from '../words.ts';
import { setTo } from './set-to.ts';

/** Edits that set a rhythm module's gate; undefined where a pattern or a step has a gate of its own. */
export function setGate(
  net: Net,
  seconds: number,
  { netlist, patch }: Pick<Context, 'netlist' | 'patch'>,
): Mend | undefined {
  const shaped = fixedBehind(net, netlist);
  if (shaped !== undefined) return barredByRack(shaped, 'width', patch);
  const module = commonGate(net, netlist);
  if (module === undefined) return undefined;
  const span: Span = { unit: 'seconds', value: seconds };
  return setTo(module, 'gate', span, patch);
}

/**
 * The net whose pulses come to another, at most through what copies, scales or compares them, as long as the rack says:
 * no setting makes them longer or shorter. Undefined where there is none.
 */
export function fixedBehind(net: Net, netlist: Context['netlist']): Net | undefined {
  const { fixed } = pulsesBehind(net, netlist.at);
  const [only, ...others] = fixed === undefined ? (strokeSources(net, netlist) ?? []) : [];
  const isFixed = others.length === 0 && (only?.jack.facts.stage?.width ?? 0) > 0;
  return isFixed && only ? netlist.at({ module: only.module.name, jack: only.jack.name }) : fixed;
}

/** What decides how long the gates on a net are, as the cause of findings. */
export function gateCause(net: Net, { netlist }: Pick<Context, 'netlist'>): string {
  const module = commonGate(net, netlist);
  return module === undefined ? wire(net) : `${module.name} gate`;
}

/** The rhythm module whose one setting decides the gates on a net, at most through what copies, scales or compares them. */
export function commonGate(net: Net, netlist: Context['netlist']): PatchModule | undefined {
  const module = pulsesBehind(net, netlist.at).module ?? scaledFrom(net, netlist);
  if (module === undefined) return undefined;
  const { patterns } = rhythmSettings(module.settings);
  const own = patterns
    .flatMap(({ lines }) => lines)
    .some(({ gate, steps }) => gate !== undefined || steps.some((step) => step.gate !== undefined));
  return own ? undefined : module;
}

/** The rhythm module whose one gate reaches a net, scaled or compared. */
function scaledFrom(net: Net, netlist: Context['netlist']): PatchModule | undefined {
  const [only, ...others] = strokeSources(net, netlist) ?? [];
  const isGate = only?.module.definition.role === 'score' && only.jack.signal === 'gate';
  return isGate && others.length === 0 ? only.module : undefined;
}

export interface Behind {
  /** The rhythm module whose gates a net carries. */
  readonly module?: PatchModule;
  /** The net whose pulses are as long as the rack says, whatever starts them. */
  readonly fixed?: Net;
  /** What gives pulses of a length of its own, such as a pulse module, and the setting that says how long. */
  readonly shaper?: { readonly module: PatchModule; readonly setting: string };
}

/** What decides how long the pulses on a net are, at most through converters. */
export function pulsesBehind(start: Net, at: Context['netlist']['at']): Behind {
  const seen = new Set<Net>();
  for (let net: Net | undefined = start; net !== undefined && !seen.has(net); ) {
    seen.add(net);
    const [output, ...others] = net.outputs;
    if (output === undefined || others.length > 0) return {};
    const { module, jack } = output;
    if (jack.facts.stage !== undefined && jack.facts.stage.width > 0) return { fixed: net };
    if (module.definition.role === 'score') return jack.signal === 'gate' ? { module } : {};
    const setting = module.definition.gates?.(jack.name)?.lasts;
    if (setting !== undefined) return { shaper: { module, setting } };
    const copied = copiedAt(module, jack.name);
    net = copied && at(copied);
  }
  return {};
}

/** The input whose pulses an output gives as they come in, as a converter does. */
export function copiedAt({ name, definition }: PatchModule, output: string): JackRef | undefined {
  const law = definition.gates?.(output);
  const [input] = law?.isCopy ? law.inputs : [];
  return input === undefined ? undefined : { module: name, jack: input };
}
