/**
 * The shipped patches, changed in ways that make them wrong, or not, by construction. The expected
 * findings come from how the change was made, never from the check itself.
 */

import { parse, stringify } from 'yaml';
import { SHIPPED, shipped } from '../patch-of.ts';
import { SMALL } from './read.ts';

interface Module {
  kind: string;
  [setting: string]: unknown;
}
export interface Text {
  title?: string;
  rack?: string;
  modules: Record<string, Module>;
  parts?: Record<string, string | { file: string }>;
  cables: string[];
}
/** A patch as data, and the parts and the rack that it names, by path. */
export interface Whole {
  main: Text;
  files: Record<string, Text>;
}
export interface Case {
  name: string;
  whole: Whole;
  /** `rule module`, each expected once at least; none for a patch that works. */
  expected: string[];
  rack?: string;
}

export const cases: Case[] = [];
const copy = <T>(value: T): T => structuredClone(value);
const ends = (cable: string): [string, string] =>
  cable.split('->').map((one) => one.trim()) as [string, string];
const moduleOf = (jack: string): string => jack.slice(0, jack.lastIndexOf('.'));
const jackOf = (jack: string): string => jack.slice(jack.lastIndexOf('.') + 1);

const pathOf = (part: string | { file: string }): string =>
  typeof part === 'string' ? part : part.file;

function whole(name: string): Whole {
  const main = parse(shipped(name)) as Text;
  const files = Object.fromEntries(
    Object.values(main.parts ?? {}).map((part) => [
      pathOf(part),
      parse(shipped(pathOf(part))) as Text,
    ]),
  );
  return { main, files };
}

/** The texts of a patch with the name that its modules have in front of them. */
export function texts({ main, files }: Whole): [prefix: string, text: Text][] {
  return [
    ['', main],
    ...Object.entries(main.parts ?? {}).map(([name, part]): [string, Text] => [
      `${name}.`,
      files[pathOf(part)] as Text,
    ]),
  ];
}

function kindOf({ main, files }: Whole, module: string): string {
  const [part = '', local = ''] = module.split('.');
  const text = local === '' ? main : files[pathOf(main.parts?.[part] ?? '')];
  return text?.modules[local === '' ? part : local]?.kind ?? '';
}

/** Every cable of a patch, with the full names of its ends. */
export function allCables(patch: Whole): { text: Text; index: number; from: string; to: string }[] {
  return texts(patch).flatMap(([prefix, text]) =>
    text.cables.map((cable, index) => {
      const [from, to] = ends(cable);
      return { text, index, from: prefix + from, to: prefix + to };
    }),
  );
}

/** The jacks without which a kind does nothing, written down here from what the kinds are. */
const NEEDED: Record<string, readonly string[]> = {
  envelope: ['trigger'],
  amplifier: ['in', 'control'],
  filter: ['in'],
  attenuator: ['in'],
  'trigger-converter': ['voltage-in'],
};

/** What taking out a cable leaves: a starved input, or an output that leads nowhere. */
function withoutCable(patch: Whole, from: string, to: string): string[] {
  const starved = starvedBy(patch, to);
  if (starved.length > 0) return starved;
  if (kindOf(patch, moduleOf(to)) === 'output') return [`nothing-reaches-output ${moduleOf(to)}`];
  // A mixer goes on with what else it has.
  const start = kindOf(patch, moduleOf(from));
  // An oscillator that something still moves is meant for something.
  const cables = allCables(patch).filter((one) => one.from !== from || one.to !== to);
  if (
    start === 'oscillator' &&
    cables.some((one) => moduleOf(one.to) === moduleOf(from)) &&
    !cables.some((one) => moduleOf(one.from) === moduleOf(from))
  )
    return [`nothing-reaches-output ${moduleOf(from)}`];
  if (start === 'multiple' || start === 'rhythm' || start === 'noise' || start === 'oscillator')
    return [];
  // Another output of it still leads on.
  if (cables.some((one) => moduleOf(one.from) === moduleOf(from))) return [];
  return [`nothing-reaches-output ${moduleOf(from)}`];
}

function starvedBy(patch: Whole, to: string): string[] {
  const [module, jack] = [moduleOf(to), jackOf(to)];
  const kind = kindOf(patch, module);
  if (kind === 'multiple' && jack === 'in') {
    // Everything behind it is one dead net, told once.
    const behind = allCables(patch).filter(({ from }) => moduleOf(from) === module);
    return behind.length === 0
      ? []
      : [`input-open ${behind.map((one) => moduleOf(one.to)).join('|')}`];
  }
  const { level, offset } = moduleIn(patch, module) as { level?: unknown; offset?: unknown };
  if (kind === 'attenuator' && offset !== undefined && level !== undefined) return [];
  return NEEDED[kind]?.includes(jack) ? [`input-open ${module}`] : [];
}

function moduleIn({ main, files }: Whole, module: string): Module {
  const [part = '', local = ''] = module.split('.');
  const text = local === '' ? main : files[pathOf(main.parts?.[part] ?? '')];
  return text?.modules[local === '' ? part : local] as Module;
}

/** Envelopes and converters that a rhythm's gates reach, through multiples. */
function gated(
  patch: Whole,
): { module: string; jack: string; cable: ReturnType<typeof allCables>[number] }[] {
  return allCables(patch)
    .filter(
      ({ from, to }) =>
        ['trigger', 'voltage-in', 'cut', 'sync'].includes(jackOf(to)) &&
        ['rhythm', 'multiple'].includes(kindOf(patch, moduleOf(from))),
    )
    .map((cable) => ({ module: moduleOf(cable.to), jack: jackOf(cable.to), cable }));
}

const drumsOf = (patch: Whole): Module => patch.main.modules.drums as Module;

for (const name of SMALL) {
  const original = whole(name);
  const plant = (what: string, change: (patch: Whole) => string[]): void => {
    const patch = copy(original);
    cases.push({ name: `${name}: ${what}`, expected: change(patch), whole: patch });
  };

  // Each cable taken out.
  allCables(original).forEach(({ from, to }, position) => {
    plant(`without ${from} -> ${to}`, (patch) => {
      const found = allCables(patch)[position] as ReturnType<typeof allCables>[number];
      const expected = withoutCable(patch, from, to);
      found.text.cables.splice(found.index, 1);
      return expected;
    });
  });

  // Each envelope turned into one of the other sort of trigger.
  for (const [prefix, text] of texts(original))
    for (const [module, { kind, trigger = 'voltage' }] of Object.entries(text.modules)) {
      if (kind !== 'envelope') continue;
      const other = trigger === 'voltage' ? 'switch' : 'voltage';
      plant(`${prefix}${module} with a ${other} trigger`, (patch) => {
        moduleIn(patch, prefix + module).trigger = other;
        return [
          `${other === 'switch' ? 'voltage-into-switch' : 'switch-into-voltage'} ${prefix}${module}`,
        ];
      });
    }

  // The gates' level: a net of n inputs gets level x 100 / (100 + n); the threshold is 2.5 V.
  const inputs = gated(original);
  for (const level of [1, 1.5, 2, 2.4])
    plant(`gates of ${level} V`, (patch) => {
      drumsOf(patch).level = `${level} V`;
      return inputs.map(({ module }) => `level-too-low ${module}`);
    });
  for (const level of [2.6, 2.8, 2.99])
    plant(`gates of ${level} V`, (patch) => {
      drumsOf(patch).level = `${level} V`;
      return inputs.map(({ module }) => `level-marginal ${module}`);
    });
  // 3 V is what is safe at 2.5 V; the four inputs of a kick, of 100 kohm each, take 4 % of it.
  for (const level of [3.13, 4, 6, 8, 10, 12])
    plant(`gates of ${level} V`, (patch) => {
      drumsOf(patch).level = `${level} V`;
      return [];
    });

  // A second plug in an output, and a second output in an input.
  const audio = allCables(original).find(
    ({ from }) => jackOf(from) === 'high' || jackOf(from) === 'sine',
  );
  if (audio !== undefined) {
    plant('a second plug in an output', (patch) => {
      const { text } = allCables(patch).find(
        ({ from, to }) => from === audio.from && to === audio.to,
      ) as { text: Text };
      const local = jackName(audio.from, patch);
      text.modules.extra = { kind: 'mixer' };
      text.cables.push(`${local} -> extra.in-1`);
      const prefix = audio.from.slice(0, audio.from.length - local.length);
      return [`jack-doubled ${moduleOf(audio.from)}`, `nothing-reaches-output ${prefix}extra`];
    });
    plant('a second output in an input', (patch) => {
      const { text } = allCables(patch).find(({ to }) => to === audio.to) as { text: Text };
      text.modules.extra = { kind: 'oscillator' };
      text.cables.push(`extra.saw -> ${jackName(audio.to, patch)}`);
      const prefix = audio.to.slice(0, audio.to.length - jackName(audio.to, patch).length);
      return [`outputs-joined ${prefix}extra|${moduleOf(audio.from)}`];
    });
  }
  plant('the clock at the output', (patch) => {
    patch.main.cables.push('drums.clock -> out.right');
    return ['signal-mismatch out'];
  });
  plant('noise on a trigger', (patch) => {
    const [first] = gated(patch);
    const cable = first?.cable as ReturnType<typeof allCables>[number];
    cable.text.modules.extra = { kind: 'noise' };
    cable.text.cables[cable.index] =
      `extra.pink -> ${ends(cable.text.cables[cable.index] as string)[1]}`;
    // The gate that played it now leads nowhere, which no rule minds.
    return [`signal-mismatch ${first?.module}`];
  });
  plant('a gate through an attenuator at 30 %', (patch) => {
    const [first] = gated(patch);
    const cable = first?.cable as ReturnType<typeof allCables>[number];
    const [from, to] = ends(cable.text.cables[cable.index] as string);
    cable.text.modules.extra = { kind: 'attenuator', level: '30 %' };
    cable.text.cables.splice(cable.index, 1, `${from} -> extra.in`, `extra.out -> ${to}`);
    return [`level-too-low ${first?.module}`];
  });
  plant('a gate lifted by 2 V', (patch) => {
    const [first] = gated(patch);
    const cable = first?.cable as ReturnType<typeof allCables>[number];
    const [from, to] = ends(cable.text.cables[cable.index] as string);
    cable.text.modules.extra = { kind: 'attenuator', offset: '2 V' };
    cable.text.cables.splice(cable.index, 1, `${from} -> extra.in`, `extra.out -> ${to}`);
    return [`stays-on ${first?.module}`];
  });
  plant('an amplifier with its cables swapped', (patch) => {
    const all = allCables(patch);
    const control = all.find(
      ({ from, to }) =>
        jackOf(to) === 'control' &&
        kindOf(patch, moduleOf(from)) === 'envelope' &&
        kindOf(patch, moduleOf(to)) === 'amplifier',
    );
    const sound = all.find(
      ({ to }) => moduleOf(to) === moduleOf(control?.to ?? '') && jackOf(to) === 'in',
    );
    if (control === undefined || sound === undefined) return [];
    const swap = ({ text, index }: typeof control, jack: string): void => {
      text.cables[index] = (text.cables[index] as string).replace(/[^.]*$/, jack);
    };
    swap(control, 'in');
    swap(sound, 'control');
    return [`signal-mismatch ${moduleOf(control.to)}`];
  });

  // Changes that leave it as right as it was.
  plant('with its cables in another order', (patch) => {
    for (const [, text] of texts(patch)) text.cables.reverse();
    return [];
  });
  plant('with its modules in another order', (patch) => {
    for (const [, text] of texts(patch))
      text.modules = Object.fromEntries(Object.entries(text.modules).reverse());
    return [];
  });
  plant('with a gate through an attenuator at 90 %', (patch) => {
    const [first] = gated(patch);
    const cable = first?.cable as ReturnType<typeof allCables>[number];
    const [from, to] = ends(cable.text.cables[cable.index] as string);
    cable.text.modules.extra = { kind: 'attenuator', level: '90 %' };
    cable.text.cables.splice(cable.index, 1, `${from} -> extra.in`, `extra.out -> ${to}`);
    return [];
  });
  plant('with a converter there and back', (patch) => {
    const [first] = gated(patch);
    const cable = first?.cable as ReturnType<typeof allCables>[number];
    const [from, to] = ends(cable.text.cables[cable.index] as string);
    cable.text.modules.extra = { kind: 'trigger-converter' };
    cable.text.modules.extra2 = { kind: 'trigger-converter' };
    cable.text.cables.splice(
      cable.index,
      1,
      `${from} -> extra.voltage-in`,
      'extra.switch-out -> extra2.switch-in',
      `extra2.voltage-out -> ${to}`,
    );
    return [];
  });
  plant('with every cable through a multiple of its own', (patch) => {
    for (const [, text] of texts(patch))
      text.cables = text.cables.flatMap((cable, index) => {
        const [from, to] = ends(cable);
        text.modules[`wire-${index}`] = { kind: 'multiple' };
        return [`${from} -> wire-${index}.in`, `wire-${index}.out-1 -> ${to}`];
      });
    return [];
  });

  // The rack: just enough of everything, and then one less of each.
  const rack = (count: Record<string, number>, cables: number): string =>
    stringify({
      cables,
      units: Object.fromEntries(
        Object.entries(count)
          .filter(([, number]) => number > 0)
          .map(([kind, number]) => [
            kind,
            { kind, count: number, ...(kind === 'multiple' && { fixed: { jacks: 16 } }) },
          ]),
      ),
    });
  const owned: Record<string, number> = {};
  for (const [, text] of texts(original))
    for (const { kind } of Object.values(text.modules)) owned[kind] = (owned[kind] ?? 0) + 1;
  const wires = allCables(original).length;
  const onRack = (what: string, text: string, expected: string[]): void => {
    const patch = copy(original);
    patch.main.rack = 'suite.yaml';
    cases.push({ name: `${name}: ${what}`, whole: patch, expected, rack: text });
  };
  onRack('on a rack with just enough', rack(owned, wires), []);
  onRack('with a cable too few', rack(owned, wires - 1), ['cable-short -']);
  for (const kind of Object.keys(owned))
    onRack(
      `with one ${kind} too few`,
      rack({ ...owned, [kind]: (owned[kind] as number) - 1 }, wires),
      ['rack-short -'],
    );
}

/** Voices that begin only after what is heard of the song: they are not judged. */
const LATER: Record<string, readonly string[]> = { 'kit-of-eight.yaml': ['level-4', 'level-5'] };

/** What only an ear or a score tells: `expected` is all of it. */
export const heard: Case[] = [];
for (const name of SHIPPED) {
  const original = whole(name);
  const plant = (what: string, change: (patch: Whole) => string[]): void => {
    const patch = copy(original);
    heard.push({ name: `${name}: ${what}`, expected: change(patch), whole: patch });
  };
  plant('as it is shipped', () => []);

  // Nothing listens to the accents of a channel any more.
  const accents = allCables(original).filter(
    ({ from }) => kindOf(original, moduleOf(from)) === 'rhythm' && jackOf(from).endsWith('-accent'),
  );
  for (const { from } of accents)
    plant(`without the cable from ${from}`, (patch) => {
      for (const [prefix, text] of texts(patch))
        text.cables = text.cables.filter((cable) => prefix + ends(cable)[0] !== from);
      return isAccented(patch, jackOf(from).replace(/-accent$/, ''))
        ? [`accent-unheard ${moduleOf(from)}`]
        : [];
    });

  // All of it turned down to a fiftieth, just in front of the output: 34 dB.
  plant('through an attenuator at 2 %', (patch) => {
    const outs = patch.main.cables.flatMap((cable, index) =>
      ends(cable)[1].startsWith('out.') ? [index] : [],
    );
    for (const index of outs) {
      const [from, to] = ends(patch.main.cables[index] as string);
      patch.main.modules[`soft-${index}`] = { kind: 'attenuator', level: '2 %' };
      patch.main.cables[index] = `${from} -> soft-${index}.in`;
      patch.main.cables.push(`soft-${index}.out -> ${to}`);
    }
    return ['too-quiet out'];
  });

  // One voice turned down by 46 dB, on both sides where there are two.
  const mixers = ['left', 'right', 'mix'].filter((one) => original.main.modules[one] !== undefined);
  const levels = mixers.flatMap((one) =>
    Object.keys(original.main.modules[one] as Module).filter((key) => /^level-/.test(key)),
  );
  if (new Set(levels).size > 1)
    for (const level of new Set(levels))
      plant(`with ${level} of ${mixers.join(' and ')} at 0.5 %`, (patch) => {
        for (const one of mixers) (patch.main.modules[one] as Module)[level] = '0.5 %';
        return LATER[name]?.includes(level) ? [] : ['too-quiet'];
      });

  // A delay line asked for a note three octaves down, one below what it can hold.
  for (const [prefix, text] of texts(original))
    for (const [module, { kind }] of Object.entries(text.modules)) {
      if (kind !== 'delay-line') continue;
      plant(`${prefix}${module} three octaves down`, (patch) => {
        const to = `${prefix}${module}.pitch`;
        const cables = patch.main.cables.filter((cable) => ends(cable)[1] !== to);
        patch.main.modules.deep = { kind: 'attenuator', level: '0 %', offset: '-3 V' };
        patch.main.cables = [...cables, `deep.out -> ${to}`];
        return [`time-out-of-range ${prefix}${module}`];
      });
    }
}

/** Whether an accent or a ghost stroke stands in any pattern of a channel. */
function isAccented(patch: Whole, channel: string): boolean {
  const patterns = Object.values((drumsOf(patch).patterns ?? {}) as Record<string, unknown>);
  return patterns.some((pattern) => {
    const line = (pattern as Record<string, unknown>)[channel];
    return /[Xg]/.test(typeof line === 'string' ? line : JSON.stringify(line ?? ''));
  });
}

/** A jack by the name that its own file has for it. */
function jackName(jack: string, { main }: Whole): string {
  const [part = ''] = jack.split('.');
  return main.parts?.[part] === undefined ? jack : jack.slice(part.length + 1);
}
