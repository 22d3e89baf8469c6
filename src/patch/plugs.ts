/**
 * Cables given from outside a file: `bright.in=hiss.pink` pulls what is in an input and plugs another
 * output into it.
 */

import { readCable, type Scope } from './cables.ts';
import { type Override, SET_FILE } from './overrides.ts';
import { type Cable, jackName } from './patch.ts';
import type { TextNode } from './text/nodes.ts';
import type { Place } from './text/place.ts';
import { quoted, type Report } from './text/report.ts';

const ARROW = ' -> ';

/**
 * Plugs other outputs into inputs.
 * @param cables those of the file and its parts.
 * @param plugs overrides that `isPlug` takes, later ones winning; both names are as cables in this file
 *   have them. What is wrong with one is reported at its place.
 * @returns the cables in their order, a new one in place of what was in the input, or at the end.
 */
export function replugged(
  cables: readonly Cable[],
  plugs: readonly Override[],
  scope: Scope,
  report: Report,
): readonly Cable[] {
  let now = cables;
  for (const plug of plugs) {
    const cable = readPlug(plug, scope, report);
    if (cable !== undefined) now = withPlug(now, cable);
  }
  for (const plug of plugs) requireFree(plug, now, report);
  return now;
}

/**
 * A jack takes one plug. A file may have two in one, which plays and is a finding, since its cables may stand so already;
 * a cable that is named for one run is only meant to be plugged.
 */
function requireFree(plug: Override, cables: readonly Cable[], report: Report): void {
  if (plug.at.file !== SET_FILE) return;
  const input = plug.path.join('.');
  const own = cables.find(({ to, place }) => jackName(to) === input && place.file === SET_FILE);
  if (own === undefined) return;
  const output = jackName(own.from);
  const other = cables.find((one) => one !== own && jackName(one.from) === output);
  if (other === undefined) return;
  report.add(
    'duplicate',
    (plug.value as TextNode).place,
    `${output} is plugged into ${jackName(other.to)} already, and a jack takes one plug`,
    { expected: 'a multiple after it in the patch, and a jack of that here' },
  );
}

function withPlug(cables: readonly Cable[], cable: Cable): readonly Cable[] {
  const input = jackName(cable.to);
  const at = cables.findIndex(({ to }) => jackName(to) === input);
  if (at < 0) return [...cables, cable];
  return cables.with(at, cable).filter((one) => one === cable || jackName(one.to) !== input);
}

function readPlug(plug: Override, scope: Scope, report: Report): Cable | undefined {
  const { path, at } = plug;
  const value = plug.value as TextNode;
  const input = path.join('.');
  const module = scope.modules.get(path.slice(0, -1).join('.'));
  const last = path.at(-1) as string;
  const isSetting = Object.hasOwn(module?.definition?.settings ?? {}, last);
  if (isSetting && !module?.jacks.some(({ name }) => name === last)) {
    const message = `${quoted(value.text)} names a jack, and ${input} is a setting`;
    report.add('wrong-type', value.place, message, { expected: `a value of ${input}` });
    return undefined;
  }
  // As the file would have it, each end with its place here.
  const start = value.text.length + ARROW.length;
  return readCable(
    {
      type: 'text',
      text: `${value.text}${ARROW}${input}`,
      place: at,
      within: (from, to) => {
        if (from < start) return value.within(from, Math.min(to, value.text.length));
        if (from > start) return plug.piece(path.length - 1);
        return to < start + input.length ? moduleOf(plug) : at;
      },
    },
    scope,
    report,
  );
}

/** The place of all but the jack. */
function moduleOf({ path, piece }: Override): Place {
  const first = piece(0);
  const last = piece(path.length - 2);
  return first.line === last.line && first.file === last.file
    ? { ...first, length: last.column + last.length - first.column }
    : first;
}
