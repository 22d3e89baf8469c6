/** Accents and ghost strokes in a pattern, and an accent output that nothing listens to. */

import type { Pattern, Step } from '../../modules/score.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { countedEach } from '../../patch/text/counted.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import type { Context, Finding, Rule } from '../finding.ts';

export const accentUnheard: Rule = {
  name: 'accent-unheard',
  headline: ['jack', 'carries an accent that nothing hears'],
  explanation: {
    what: 'A pattern has accents or ghost strokes, and they sound like any other stroke.',
    why:
      'A gate is as high for an accented stroke as for a plain one. What makes the difference is the ' +
      'channel’s accent output, a control voltage beside the gate, and nothing is plugged into it.',
    sum: 'None: it looks for X and g in the patterns that are played, and at the accent output’s net.',
    mend:
      'Lead the accent to what it is to make stronger: through an attenuator with an offset to the control ' +
      'of a last amplifier, or to a part’s accent.in. Or write x in place of X and g.',
  },

  find({ patch, netlist }: Context): readonly Finding[] {
    return patch.modules
      .filter(({ definition }) => definition.role === 'score')
      .flatMap((module) =>
        rhythmSettings(module.settings).channels.flatMap(({ name }, channel): Finding[] => {
          const played = (netlist.at({ module: module.name, jack: name })?.inputs.length ?? 0) > 0;
          const jack = { module: module.name, jack: `${name}-accent` };
          const heard = (netlist.at(jack)?.inputs.length ?? 0) > 0;
          const accents = stepsThat(module, channel, ({ accent }) => accent);
          const ghosts = stepsThat(module, channel, ({ ghost }) => ghost === true);
          if (!played || heard || accents + ghosts === 0) return [];
          const unheard = countedEach([
            [accents, 'accent'],
            [ghosts, 'ghost stroke'],
          ]).join(' and ');
          return [
            {
              rule: accentUnheard.name,
              severity: 'note',
              message:
                `the patterns of ${module.name}.${name} have ${unheard}, and nothing ` +
                `listens to ${module.name}.${jack.jack}: they sound like any other stroke.`,
              fix:
                `Lead ${module.name}.${jack.jack} to what it is to make stronger, such as the control of a ` +
                'last amplifier, by an attenuator of 40 % with an offset of 3 V; or write x for them.',
              place: module.place,
              jack,
              cause: module.name,
              figures: { accents, ghosts },
            },
          ];
        }),
      );
  },

  mend({ jack }, context) {
    const to = jack && accentInput(jack.module, jack.jack.replace(/-accent$/, ''), context);
    if (jack === undefined || to === undefined) return undefined;
    const text = `${jack.module}.${jack.jack} -> ${to}`;
    return [{ type: 'add-cable', file: context.patch.file, text }];
  },
};

/** Steps of this strength in a channel, in all patterns that the song plays. */
export function stepsThat(
  module: PatchModule,
  channel: number,
  is: (step: Step) => boolean,
): number {
  const { patterns, song } = rhythmSettings(module.settings);
  const played = new Set(song.map(({ pattern }) => patterns[pattern] as Pattern));
  return [...played]
    .flatMap(({ lines }) => lines)
    .filter((line) => line.channel === channel)
    .flatMap(({ steps }) => steps)
    .filter(is).length;
}

/**
 * Where the accent of a channel is sure to belong: the gate starts one part, and that has a module
 * `accent` whose input is free.
 */
function accentInput(
  rhythm: string,
  channel: string,
  { patch, netlist }: Context,
): string | undefined {
  if (rhythm.includes('.')) return undefined;
  const net = netlist.at({ module: rhythm, jack: channel });
  const parts = new Set(
    net?.cables.map(({ to }) => to.module.split('.')).map((names) => names.slice(0, -1).join('.')),
  );
  const waiting = [...parts].flatMap((part) => {
    const module = patch.modules.find(({ name }) => part !== '' && name === `${part}.accent`);
    const input = module?.jacks.find(({ name, direction }) => name === 'in' && direction === 'in');
    if (module === undefined || input === undefined) return [];
    return netlist.at({ module: module.name, jack: 'in' }) === undefined ? [module.name] : [];
  });
  return waiting.length === 1 ? `${waiting[0]}.in` : undefined;
}
