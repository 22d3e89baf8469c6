/** One pattern: its steps under hand and keys, and its lines to be typed. */

import { useRef, useState } from 'preact/hooks';
import { largest } from '../../../modules/dsp/extremes.ts';
import type { ChannelView, PatternView } from '../../protocol.ts';
import { useKeptFocus } from '../kept-focus.ts';
import type { ChangeOutcome } from '../moves.ts';
import { Field } from '../settings/field.tsx';
import { useSheet } from '../use-sheet.ts';
import { StepGrid } from './grid.tsx';
import { grouped, nextSign, SIGNS, signOfKey, withSign } from './tab-line.ts';

export interface PatternProps {
  readonly module: string;
  readonly pattern: PatternView;
}

export function PatternEditor({ module, pattern }: PatternProps) {
  const sheet = useSheet();
  const { name, own, stepsPerQuarter, channels } = pattern;
  // On a screen the lines of the chapter alone, on paper all.
  const ours = channels.filter(({ isAside }) => isAside !== true);
  const besides = channels.filter((channel) => channel.own !== undefined);
  // Of what is done in the grid; a line that is typed has its own.
  const [refusal, setRefusal] = useState<string>();
  const send = (channel: string, steps: string): Promise<ChangeOutcome> =>
    sheet.change({ type: 'steps', module, pattern: name, channel, steps });
  const write = async (channel: string, steps: string): Promise<ChangeOutcome> => {
    const words = await send(channel, steps);
    setRefusal(words === undefined ? undefined : `${channel}: ${words}`);
    return words;
  };
  const longest = largest(
    channels.map((channel) => channel.name.length),
    0,
  );
  return (
    <div class="pattern">
      <h3>Pattern {name}</h3>
      {own !== undefined && <p class="own">{own}</p>}
      <div class="on-screen">
        <div class="wide">
          <Tab pattern={{ ...pattern, channels: ours }} onWrite={write} />
        </div>
        {refusal !== undefined && (
          <p class="refusal" role="alert">
            Not taken: {refusal}
          </p>
        )}
        <details class="lines">
          <summary>Type the lines of {name}</summary>
          {ours.map(({ name: channel, steps }) => (
            <div key={channel} class="tab-line">
              <span>{channel}</span>
              <Field
                label={`${name}, ${channel}, steps as text`}
                text={grouped(steps, stepsPerQuarter)}
                wide
                onSend={(text) => send(channel, text)}
              />
            </div>
          ))}
        </details>
      </div>
      <pre class="paper">
        {channels
          .map(
            (channel) =>
              `${channel.name.padEnd(longest)}  ${grouped(channel.steps, stepsPerQuarter)}`,
          )
          .join('\n')}
      </pre>
      {besides.length > 0 && (
        <ul class="own">
          {besides.map((channel) => (
            <li key={channel.name}>
              <b>{channel.name}</b>: {channel.own}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}

interface TabProps {
  readonly pattern: PatternView;
  readonly onWrite: (channel: string, steps: string) => Promise<ChangeOutcome>;
}

function Tab({ pattern: { name, stepsPerQuarter, channels }, onWrite }: TabProps) {
  const sheet = useSheet();
  const table = useRef<HTMLTableElement>(null);
  useKeptFocus(table, nearestCell);
  // Of all steps the Tab key stops at one, and the arrows go on from there.
  const [focus, setFocus] = useState<readonly [row: number, step: number]>([0, 0]);
  // The lines as a hand has left them, drawn at once: the engine's answer comes later.
  const lines = useRef(new Map<string, string>());
  const underWay = useRef(new Map<string, number>());
  const [, draw] = useState({});
  for (const { name: channel, steps } of channels)
    if (!underWay.current.get(channel)) lines.current.set(channel, steps);
  const longest = largest(
    channels.map(({ steps }) => steps.length),
    0,
  );
  const numbers = Array.from({ length: longest }, (_, step) => step);

  const count = (channel: string, by: number): void => {
    underWay.current.set(channel, (underWay.current.get(channel) ?? 0) + by);
  };
  const write = ({ name: channel, steps }: ChannelView, step: number, sign: string): void => {
    const line = withSign(lines.current.get(channel) ?? steps, step, sign);
    lines.current.set(channel, line);
    count(channel, 1);
    void onWrite(channel, line).then((refusal) => {
      count(channel, -1);
      if (refusal !== undefined) lines.current.delete(channel);
      draw({});
    });
    draw({});
  };
  const signAt = ({ name: channel, steps }: ChannelView, step: number): string =>
    (lines.current.get(channel) ?? steps)[step] ?? '-';
  const go = (row: number, step: number): void => {
    const channel = channels[row];
    if (channel === undefined || step < 0 || step >= channel.steps.length) return;
    setFocus([row, step]);
    table.current?.querySelector<HTMLElement>(`[data-row="${row}"][data-step="${step}"]`)?.focus();
  };
  const byKeys = (event: KeyboardEvent, row: number, step: number): void => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const channel = channels[row] as ChannelView;
    const last = channel.steps.length - 1;
    const moves: Record<string, readonly [number, number]> = {
      ArrowRight: [row, step + 1],
      ArrowLeft: [row, step - 1],
      ArrowDown: [row + 1, step],
      ArrowUp: [row - 1, step],
      Home: [row, 0],
      End: [row, last],
    };
    const to = moves[event.key];
    const sign = signOfKey(event.key);
    const isNext = event.key === ' ' || event.key === 'Enter';
    if (to === undefined && sign === undefined && !isNext) {
      // Nor does a number write a step and switch to a version at once.
      if (event.key.length === 1) sheet.say(`“${event.key}” writes no step.`);
      return;
    }
    event.preventDefault();
    event.stopPropagation();
    if (to !== undefined) go(to[0], to[1]);
    else if (isNext) write(channel, step, nextSign(signAt(channel, step)));
    else if (sign !== undefined) {
      write(channel, step, sign);
      if (event.key !== 'Delete') go(row, step + (event.key === 'Backspace' ? -1 : 1));
    }
  };

  return (
    <StepGrid table={table} name={`Pattern ${name}`}>
      <thead>
        <tr>
          <th scope="col">
            <span class="unseen">channel</span>
          </th>
          {numbers.map((step) => (
            <th key={step} scope="col" class={ruleOf(step, stepsPerQuarter)}>
              {step % stepsPerQuarter === 0 ? (
                step / stepsPerQuarter + 1
              ) : (
                <span class="unseen">
                  {Math.floor(step / stepsPerQuarter) + 1}, step {(step % stepsPerQuarter) + 1}
                </span>
              )}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {channels.map((channel, row) => (
          <tr key={channel.name}>
            <th scope="row" title={channel.isOwn ? undefined : 'From the pattern before it'}>
              {channel.name}
              {!channel.isOwn && <span class="quiet"> ·</span>}
            </th>
            {[...(lines.current.get(channel.name) ?? channel.steps)].map((sign, step) => (
              <td
                key={step}
                class={`${ruleOf(step, stepsPerQuarter)} ${sign === '-' ? 'rest' : ''}`}
                data-row={row}
                data-step={step}
                tabIndex={focus[0] === row && focus[1] === step ? 0 : -1}
                aria-label={`${channel.name}, beat ${Math.floor(step / stepsPerQuarter) + 1}, step ${(step % stepsPerQuarter) + 1}: ${SIGNS[sign] ?? sign}`}
                onFocus={() => setFocus([row, step])}
                onClick={() => write(channel, step, nextSign(signAt(channel, step)))}
                onKeyDown={(event) => byKeys(event, row, step)}
              >
                {sign}
              </td>
            ))}
          </tr>
        ))}
      </tbody>
    </StepGrid>
  );
}

/** The cell that stands nearest to where one stood; null if there is none. */
function nearestCell(table: HTMLElement, { dataset }: HTMLElement): HTMLElement | null {
  const rows = [...table.querySelectorAll<HTMLElement>('tbody tr')];
  const cells = rows[Math.min(Number(dataset.row), rows.length - 1)]?.querySelectorAll('td') ?? [];
  return cells[Math.min(Number(dataset.step), cells.length - 1)] ?? null;
}

function ruleOf(step: number, stepsPerQuarter: number): string {
  if (step % (4 * stepsPerQuarter) === 0) return 'bar';
  return step % stepsPerQuarter === 0 ? 'beat' : '';
}
