/** What `check --fix` leaves as it is though there is a mend for it, and why. */

import type { Barred } from '../../findings/mend/mending.ts';
import { listed } from '../../findings/words.ts';
import { jackName } from '../../patch/patch.ts';
import { table } from '../table.ts';

/** A line for each finding that is not mended, with the reason; empty where there is none. */
export function barredAsText(barred: readonly Barred[]): readonly string[] {
  return grouped(barred).map((group) => {
    const { finding, why } = group[0];
    const { place, rule } = finding;
    const jacks = listed(group.flatMap(({ finding: { jack } }) => (jack ? jackName(jack) : [])));
    const what = `${place.file}:${place.line}: ${rule}${jacks === '' ? '' : ` at ${jacks}`}`;
    return `${what} is not mended:\n${table([['', `${why}.`]])}`;
  });
}

/** The shape that scripts rely on. */
export function barredAsData(barred: readonly Barred[]): readonly object[] {
  return barred.map(({ finding: { rule, place, jack }, why }) => ({
    rule,
    file: place.file,
    line: place.line,
    column: place.column,
    jack: jack === undefined ? null : jackName(jack),
    why,
  }));
}

function grouped(barred: readonly Barred[]): readonly (readonly [Barred, ...Barred[]])[] {
  const groups = new Map<string, [Barred, ...Barred[]]>();
  for (const one of barred) {
    const key = JSON.stringify([one.finding.rule, one.why]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [one]);
    else group.push(one);
  }
  return [...groups.values()];
}
