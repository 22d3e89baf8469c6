/** The control of a setting on the page, by its spec. */

import type { RowSpec, RowsSpec, SettingSpec } from '../../modules/definition.ts';
import { expectedOf } from '../../patch/settings.ts';
import { unitsOf } from '../../patch/units.ts';
import type { Control } from '../protocol.ts';

type Movable = Exclude<SettingSpec, RowSpec | RowsSpec | { readonly type: 'recording' }>;

/** @param value the present value; if not given, the default. */
export function controlOf(spec: Movable, value?: unknown): Control {
  switch (spec.type) {
    case 'choice':
      return { type: 'choice', options: spec.options };
    case 'flag':
      return { type: 'choice', options: ['true', 'false'] };
    case 'span':
    case 'rate':
      return { type: 'text', expected: expectedOf(spec), sort: spec.type };
    case 'channels':
    case 'patterns':
    case 'song':
    case 'notes':
      return { type: 'text', expected: spec.about };
    default: {
      const { type, min, max, fallback, rings } = spec;
      const now = (value as number | undefined) ?? fallback;
      const range = { min, max, fallback, ...(rings && { rings }) };
      return { type: 'number', quantity: type, value: now, ...range, units: unitsOf(type) };
    }
  }
}
