/** A cable that carries something its input has no use for, where it can only be a slip. */

import type { Net } from '../../electrical/nets.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import { type Cable, jackName, type PatchModule } from '../../patch/patch.ts';
import { strokes } from '../../timing/edges.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { songSeconds } from '../../timing/song.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { allCarry, type Origin, origins } from '../triggers/carried.ts';
import { cableInto, listed, placeAtJack, wire } from '../words.ts';

/** Strokes of a song that are looked at; a longer song repeats what it has. */
const ENOUGH = 20_000;

export const signalMismatch: Rule = {
  name: 'signal-mismatch',
  headline: ['jack', 'gets another kind of signal'],
  explanation: {
    what: 'A cable carries another sort of signal than its input is for.',
    why:
      'Every jack carries volts, and much is allowed that no label foresees: an oscillator may clock ' +
      'a sequencer, a gate may strike a filter. Reported is only what cannot be meant: noise on a ' +
      'trigger, which fires at random thousands of times a second; a gate or an envelope straight ' +
      'to the loudspeaker; an accent, which is held from stroke to stroke, as a trigger; the sound and ' +
      'the envelope of an amplifier the wrong way round.',
    sum: 'None: it follows the cables back to where the signal is made.',
    mend: 'Plug the cable where it was meant to go.',
  },

  find(context: Context): readonly Finding[] {
    const { netlist } = context;
    const found: Finding[] = [];
    for (const net of netlist.nets) {
      if (net.outputs.length === 0) continue;
      // Back to where the signal is made is a long way in a long chain, and few inputs ask.
      let known: readonly Origin[] | undefined;
      const from = (): readonly Origin[] => {
        known ??= origins(net, netlist);
        return known;
      };
      for (const { module, jack } of net.inputs) {
        const ref = { module: module.name, jack: jack.name };
        const slip =
          jack.facts.trigger?.type === 'voltage'
            ? onTrigger(from(), context)
            : module.definition.role === 'output'
              ? onOutput(from())
              : isOpened(module) && jack.name === 'in'
                ? swapped(from(), module.name, context)
                : undefined;
        if (slip === undefined) continue;
        found.push({
          rule: signalMismatch.name,
          severity: 'caution',
          message: `${jackName(ref)} gets ${named(from())}: ${slip.what}.`,
          fix: slip.fix,
          place: placeAtJack(net, ref, context.patch),
          jack: ref,
          ...(slip.slip !== 'swapped' && { cause: `${slip.slip} ${wire(net)}` }),
          figures: { from: named(from()), slip: slip.slip },
        });
      }
    }
    return found;
  },

  mend({ jack, figures }, { netlist }): readonly Edit[] | undefined {
    if (jack === undefined || figures.slip !== 'swapped') return undefined;
    const ends = ['in', 'control'].map((name) => {
      const ref = { module: jack.module, jack: name };
      const net = netlist.at(ref);
      return net && cableInto(net, ref);
    });
    const [sound, control] = ends;
    if (sound === undefined || control === undefined) return undefined;
    // With both in one file, each cable's own word for its end is the one to exchange.
    if (sound.place.file !== control.place.file) return undefined;
    const to = (cable: Cable, name: string): Edit => ({
      type: 'replace-cable',
      place: cable.place,
      texts: [`{from} -> {to:${name}}`],
    });
    return [to(sound, 'control'), to(control, 'in')];
  },
};

/** Whether a sound at `in` is let through by volts at `control`, as in an amplifier. */
function isOpened({ definition, jacks }: PatchModule): boolean {
  const multiplied = Object.values(definition.multiplies ?? {}).flat();
  return multiplied.includes('in') && jacks.some(({ name }) => name === 'control');
}

interface Slip {
  readonly slip: string;
  readonly what: string;
  readonly fix: string;
}

function named(from: readonly Origin[]): string {
  return listed(from.map(({ module, jack }) => `${module.name}.${jack.name}`));
}

function onTrigger(from: readonly Origin[], context: Context): Slip | undefined {
  // Red noise wanders slowly enough to be meant as a source of chance.
  const hiss = from.every(({ jack }) => jack.noise !== undefined && jack.noise !== 'red');
  if (from.length > 0 && hiss)
    return {
      slip: 'noise',
      what: 'noise crosses the threshold at random, thousands of times a second',
      fix: 'Plug a gate there, or for chance take the random kind.',
    };
  const [only, ...others] = from;
  if (only === undefined || others.length > 0 || only.module.definition.role !== 'score')
    return undefined;
  return only.jack.signal === 'control' ? accent(only, context) : undefined;
}

/** An accent that does not rise with each accented stroke is no trigger. */
function accent({ module, jack }: Origin, { patch }: Context): Slip | undefined {
  const settings = rhythmSettings(module.settings);
  const name = jack.name.replace(/-accent$/, '');
  const channel = settings.channels.findIndex((one) => one.name === name);
  const next = strokes(settings, {
    sampleRate: USUAL_RATE,
    seed: patch.seed,
    module: module.name,
    until: songSeconds(settings),
  });
  let accented = 0;
  let rises = 0;
  let held = false;
  for (let count = 0, stroke = next(); stroke && count < ENOUGH; count++, stroke = next()) {
    if (stroke.channel !== channel) continue;
    if (stroke.accent) accented += 1;
    if (stroke.accent && !held) rises += 1;
    held = stroke.accent;
  }
  if (rises === accented) return undefined;
  return {
    slip: 'accent',
    what: `an accent is held from stroke to stroke, so of ${accented} accents only ${rises} make it rise`,
    fix: `Plug ${module.name}.${name} there; the accent belongs on a control input.`,
  };
}

function onOutput(from: readonly Origin[]): Slip | undefined {
  if (!allCarry(from, 'gate', 'control', 'pitch', 'switch')) return undefined;
  const control = allCarry(from, 'control', 'pitch');
  return {
    slip: 'output',
    what: `${control ? 'a control voltage' : 'a gate'} is no sound; it is steady volts on a loudspeaker`,
    fix: 'Plug the end of a voice there; look at control voltages with --tap.',
  };
}

function swapped(
  from: readonly Origin[],
  amplifier: string,
  { netlist }: Context,
): Slip | undefined {
  if (!allCarry(from, 'control')) return undefined;
  const other: Net | undefined = netlist.at({ module: amplifier, jack: 'control' });
  if (other === undefined || !allCarry(origins(other, netlist), 'audio')) return undefined;
  return {
    slip: 'swapped',
    what: 'the sound is plugged into the control input, and the control voltage into the sound’s',
    fix: `Swap the cables at ${amplifier}.in and ${amplifier}.control.`,
  };
}
