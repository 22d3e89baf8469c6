/** The voice that a hit is heard through: from a channel of the rhythm sequencer to the output. */

import { type Net, netlist } from '../electrical/nets.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';
import { rhythmSettings } from '../timing/rhythm.ts';

/** A channel of a rhythm module. */
export interface VoiceChannel {
  readonly module: string;
  readonly name: string;
  /** Among the module's channels. */
  readonly index: number;
}

/** The channels whose gates lead to the output, in the order of the patch. */
export function voiceChannels(patch: Patch): readonly VoiceChannel[] {
  const wiring = wiringOf(patch);
  return patch.modules
    .filter(({ definition }) => definition.role === 'score')
    .flatMap(({ name: module, settings }) =>
      rhythmSettings(settings).channels.map(({ name }, index) => ({ module, name, index })),
    )
    .filter((channel) => wiring.outputs.some(({ name }) => wiring.after(channel).has(name)));
}

/**
 * The modules that make the sound of a channel: those that its gate drives on the way to the
 * output, and those that feed them. A mixer on the way is entered only by the voice itself, not by
 * its neighbours.
 * @param channel undefined for all that feeds the output.
 */
export function voicePath(patch: Patch, channel: VoiceChannel | undefined): ReadonlySet<string> {
  const wiring = wiringOf(patch);
  const before = wiring.before(wiring.outputs, () => true);
  if (channel === undefined) return before;
  const after = wiring.after(channel);
  const between = patch.modules.filter(({ name }) => after.has(name) && before.has(name));
  const sums = new Set(
    between
      .filter(({ definition, settings }) => (definition.sums?.(settings) ?? []).length > 0)
      .map(({ name }) => name),
  );
  return wiring.before(
    between,
    (reader, driver) => !sums.has(reader) || after.has(driver) || driver === channel.module,
  );
}

/** The patch with one voice alone: the modules off its path load their nets and do nothing. */
export function voiceAlone(patch: Patch, channel: VoiceChannel): Patch {
  const path = voicePath(patch, channel);
  const isSilent = ({ name, definition }: PatchModule): boolean =>
    definition.create !== undefined && !path.has(name);
  const silent = new Set(patch.modules.filter(isSilent).map(({ name }) => name));
  return {
    ...patch,
    modules: patch.modules.map((module) => {
      if (!silent.has(module.name)) return module;
      const { create: _, ...definition } = module.definition;
      return { ...module, definition };
    }),
    cables: patch.cables.filter(({ from }) => !silent.has(from.module)),
  };
}

/** The patch with nothing but one channel's voice; as it is where it has no other. */
export function voiceOf(patch: Patch, channel: VoiceChannel | undefined): Patch {
  const isAlone = channel !== undefined && voiceChannels(patch).length > 1;
  return isAlone ? voiceAlone(patch, channel) : patch;
}

/** What is found out of a patch's wiring, once for all that ask. */
const known = new WeakMap<Patch, PathWiring>();

function wiringOf(patch: Patch): PathWiring {
  const wiring = known.get(patch) ?? new PathWiring(patch);
  known.set(patch, wiring);
  return wiring;
}

class PathWiring {
  readonly outputs: readonly PatchModule[];
  private readonly at: (module: string, jack: string) => Net | undefined;

  constructor(patch: Patch) {
    const { at } = netlist(patch);
    this.at = (module, jack) => at({ module, jack });
    this.outputs = patch.modules.filter(({ definition }) => definition.role === 'output');
  }

  /** Names of the modules that a channel's gate reaches, by any path. */
  after({ module, name }: VoiceChannel): ReadonlySet<string> {
    const found = new Set<string>();
    const left = [this.at(module, name)];
    while (left.length > 0)
      for (const { module: reader } of left.pop()?.inputs ?? []) {
        if (found.has(reader.name)) continue;
        found.add(reader.name);
        for (const jack of reader.jacks)
          if (jack.direction === 'out') left.push(this.at(reader.name, jack.name));
      }
    return found;
  }

  /** Names of the modules that feed some, and of these, as far as `isFollowed` lets. */
  before(
    modules: readonly PatchModule[],
    isFollowed: (reader: string, driver: string) => boolean,
  ): ReadonlySet<string> {
    const found = new Set<string>();
    const left = [...modules];
    for (let module = left.pop(); module !== undefined; module = left.pop()) {
      const { name, jacks } = module;
      if (found.has(name)) continue;
      found.add(name);
      for (const jack of jacks) {
        if (jack.direction !== 'in') continue;
        for (const { module: driver } of this.at(name, jack.name)?.outputs ?? [])
          if (isFollowed(name, driver.name)) left.push(driver);
      }
    }
    return found;
  }
}
