/** The state of the page; drawn by the islands, changed only by the worksheet. */

import type { PatchTexts } from '../../patch/texts.ts';
import { type BlindState, NO_BLIND } from '../pieces/blind.ts';
import { FIRST_VOLUME } from '../pieces/deck.ts';
import type { Playable } from '../pieces/player.ts';
import type {
  AlongHeard,
  AlongView,
  ChartView,
  FindingPlace,
  FindingView,
  From,
  MendView,
  PatchView,
  ProblemView,
  ScoreView,
  Solo,
  VoiceLevel,
} from '../protocol.ts';
import type { AssembledLoop } from './strip/assembly.ts';
import type { Version } from './versions/bank.ts';
import { NO_HISTORY, type UndoHistory } from './versions/history.ts';

export interface SheetState extends BlindState {
  /** The texts as they are in the page. */
  readonly files: PatchTexts;
  /** The texts as they are on disk or, in a hand-out, as they came. */
  readonly disk: PatchTexts;
  /** Texts that have been downloaded: no edit in them can be lost. */
  readonly copied: PatchTexts | undefined;
  /** The changed texts on disk while there are edits here, until a person has chosen one of them. */
  readonly conflict: PatchTexts | undefined;
  readonly history: UndoHistory;
  /** The last patch that could be read, which is the one that plays, and its texts. */
  readonly view: PatchView | undefined;
  readonly heard: PatchTexts | undefined;
  /** The request that it was read for: the sound of an earlier one is not its own. */
  readonly heardSince: number;
  readonly problems: readonly ProblemView[];
  /** Why the engine cannot go on, or that the host does not answer. */
  readonly failure: string | undefined;
  /** The host's message about files that it cannot read. */
  readonly unreadable: string | undefined;
  /** Why the host refused to write over a file that has changed. */
  readonly clash: string | undefined;
  /** Whether the host is connected; a hand-out needs none. */
  readonly isConnected: boolean;
  readonly loop: AssembledLoop | undefined;
  /** The sound that the player has: the loop, or a jack of it. */
  readonly sounding: Playable | undefined;
  readonly isPlaying: boolean;
  /** dB. */
  readonly volume: number;
  readonly isAround: boolean;
  readonly bars: number | undefined;
  readonly from: From | undefined;
  /** How much of the way to the place where the sound begins has been played, as a share. */
  readonly way: number | undefined;
  readonly probe: string | undefined;
  readonly voice: string | undefined;
  /** What of the mix is heard: one voice, all but one, or all. */
  readonly solo: Solo | undefined;
  /** The level of the voice that the charts show. */
  readonly level: VoiceLevel | undefined;
  /** The result of asking for MIDI pads; undefined if nobody asked. */
  readonly pads: string | undefined;
  readonly charts: readonly ChartView[];
  /** Why there are no charts. */
  readonly lack: string | undefined;
  /** The finding shown where the person works. */
  readonly told: FindingView | undefined;
  /** What would mend it, and the texts that the mend is for. */
  readonly mend: (MendView & { readonly of: PatchTexts }) | undefined;
  /** Where the focus should go, a new object each time. */
  readonly sought: { readonly at: FindingPlace } | undefined;
  readonly score: readonly ScoreView[];
  /** Counts up when the block diagram has been drawn again. */
  readonly drawn: number;
  /** The cable that is being patched; undefined while none is. */
  readonly along: AlongState | undefined;
  /** Names of the cables that are ticked. */
  readonly ticks: ReadonlySet<string>;
  readonly versions: readonly Version[];
  readonly isEqual: boolean;
  readonly hasKeys: boolean;
  /** The last thing that happened, also for screen readers. */
  readonly message: string;
}

export function firstState(files: PatchTexts): SheetState {
  return {
    files,
    disk: files,
    copied: undefined,
    conflict: undefined,
    history: NO_HISTORY,
    view: undefined,
    heard: undefined,
    heardSince: 0,
    problems: [],
    failure: undefined,
    unreadable: undefined,
    clash: undefined,
    isConnected: true,
    loop: undefined,
    sounding: undefined,
    isPlaying: false,
    volume: FIRST_VOLUME,
    isAround: true,
    bars: undefined,
    from: undefined,
    way: undefined,
    probe: undefined,
    voice: undefined,
    solo: undefined,
    level: undefined,
    pads: undefined,
    charts: [],
    lack: undefined,
    told: undefined,
    mend: undefined,
    sought: undefined,
    score: [],
    drawn: 0,
    along: undefined,
    ticks: new Set(),
    versions: [],
    ...NO_BLIND,
    isEqual: false,
    hasKeys: true,
    message: '',
  };
}

export interface AlongState {
  /** Undefined until the engine has sent it. */
  readonly view: AlongView | undefined;
  /** Undefined until it is played. */
  readonly heard: AlongHeard | undefined;
  /** The sound that the player has: the patch with its cables so far, or silence. */
  readonly sounding: Playable;
  /** Whether what can be wrong is shown. */
  readonly isDoubted: boolean;
}
