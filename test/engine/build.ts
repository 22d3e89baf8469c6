/** Small patches put together in code, with kinds of the tests' own, so that only the engine is tried. */

import {
  type Definition,
  define,
  type InputJack,
  type OutputJack,
} from '../../src/modules/definition.ts';
import { type InputFacts, type OutputFacts, plain, volts } from '../../src/modules/facts.ts';
import type { Cable, Patch, PatchModule } from '../../src/patch/patch.ts';
import type { Place } from '../../src/patch/text/place.ts';

const NOWHERE: Place = { file: 'test', line: 1, column: 1, length: 1 };

export function input(name: string, facts: InputFacts = plain()): InputJack {
  return { name, direction: 'in', signal: 'audio', about: 'test', facts };
}

export function output(name: string, facts: OutputFacts = volts(-5, 5)): OutputJack {
  return { name, direction: 'out', signal: 'audio', about: 'test', facts };
}

/** A kind that is nothing but its jacks. */
export function kindWith(jacks: Definition['jacks']): Definition {
  return define({
    kind: 'test',
    about: 'test',
    role: 'circuit',
    settings: {},
    jacks,
    create: () => ({ run() {} }),
    example: '',
  });
}

export const sink: Definition = define({
  kind: 'sink',
  about: 'test output',
  role: 'output',
  settings: {},
  jacks: () => [input('left'), input('right')],
  example: '',
});

export function moduleOf(
  name: string,
  definition: Definition,
  settings: Record<string, unknown> = {},
): PatchModule {
  const fallbacks = Object.entries(definition.settings).map(([key, spec]) => [
    key,
    'fallback' in spec ? spec.fallback : undefined,
  ]);
  const values = {
    ...Object.fromEntries(fallbacks),
    ...(definition.role === 'output' ? { 'full-scale': 1 } : {}),
    ...settings,
  };
  return {
    name,
    definition,
    settings: values,
    jacks: definition.jacks(values),
    place: NOWHERE,
    settingPlaces: new Map(),
  };
}

/** @param cables each as `a.out -> b.in`. */
export function patchOf(modules: readonly PatchModule[], cables: readonly string[]): Patch {
  const ref = (text: string): Cable['from'] => {
    const [module = '', jack = ''] = text.trim().split('.');
    return { module, jack };
  };
  return {
    file: 'test',
    title: 'test',
    about: '',
    seed: 'test',
    modules,
    cables: cables.map((text) => {
      const [from = '', to = ''] = text.split('->');
      return { from: ref(from), to: ref(to), place: NOWHERE };
    }),
  };
}
