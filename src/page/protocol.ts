/**
 * What the page and its engine tell each other. The page is the thread that draws and plays; the engine
 * is a worker that reads, checks and renders with the same code as the command line. Plain data only:
 * a structured clone carries it.
 *
 * The texts of the files are the one truth. A setting moved is a change of text; the engine makes it
 * (`patch/edit`), reads the texts again and answers with both the texts and what they say. Undo is
 * sending earlier texts.
 */

import type { VariantMeasures } from '../compare/measures.ts';
import type { StepMark } from '../output/sheet/step-sign.ts';
import type { Solo } from '../output/strokes/solo.ts';
import type { PatchTexts } from '../patch/texts.ts';

export type { Solo };

/** A change that a hand makes. */
export type PatchChange =
  /** Another value for a setting, as the file writes it: `80 ms`, `high`, `dial 3.4`. */
  | {
      readonly type: 'setting';
      readonly module: string;
      readonly setting: string;
      readonly text: string;
    }
  /** Other steps, as drum tab, for a channel of a pattern. */
  | {
      readonly type: 'steps';
      readonly module: string;
      readonly pattern: string;
      readonly channel: string;
      readonly steps: string;
    }
  /** What a place of the score says of its own, as the file writes it; an empty text takes it away. */
  | {
      readonly type: 'word';
      readonly module: string;
      readonly at: ScorePlace;
      readonly word: string;
      readonly text: string;
    }
  /** Another order of the song. `turn` counts up, since each of them is a change of its own. */
  | {
      readonly type: 'song';
      readonly module: string;
      readonly turn: number;
      readonly edit: SongEdit;
    };

/** What may say something of its own in a rhythm. Steps count from 1, as in the file, entries from 0. */
export type ScorePlace =
  | { readonly type: 'pattern'; readonly pattern: string }
  | { readonly type: 'line'; readonly pattern: string; readonly channel: string }
  | {
      readonly type: 'step';
      readonly pattern: string;
      readonly channel: string;
      readonly step: number;
    }
  | { readonly type: 'entry'; readonly entry: number };

/** Entries count from 0. */
export type SongEdit =
  /** A pattern once more, in front of the entry at that place or at the end. */
  | { readonly type: 'insert'; readonly at: number; readonly pattern: string }
  | { readonly type: 'remove'; readonly at: number }
  /** `to` is the place that it has afterwards. */
  | { readonly type: 'move'; readonly from: number; readonly to: number };

/** Where playing begins, other than with the song. */
export type From =
  /**
   * With an entry of the song of a rhythm, counted from 0, as the song has it there; `alone` that entry
   * goes round.
   */
  | {
      readonly type: 'entry';
      readonly module: string;
      readonly entry: number;
      readonly alone?: boolean;
    }
  /** With a bar of the song, counted from 1, as the song has it there. */
  | { readonly type: 'bar'; readonly bar: number }
  /** With one of its patterns, which plays alone. */
  | { readonly type: 'pattern'; readonly module: string; readonly pattern: string };

/** A channel of a rhythm sequencer. */
export interface ChannelName {
  readonly module: string;
  readonly channel: string;
}

/** Shares of a loop: from where on a change of it is heard, and up to where it must be there; over 1 in the next round. */
export interface Hearing {
  readonly at: number;
  readonly until: number;
}

/** A stroke of a channel, of which one voice is heard. */
export interface StrokeWish extends ChannelName {
  readonly voice: string;
  readonly isAccented: boolean;
}

/** From the page to the engine. `id` counts up; every answer names the request that it is for. */
export type EngineRequest =
  /** Take these texts: the first ones, those of a version, of an undo, or of the file on disk. */
  | { readonly type: 'open'; readonly id: number; readonly files: PatchTexts }
  /** Where it is to be heard, and up to where it must be there for that; it is handed on as it is played
   * unless given. */
  | {
      readonly type: 'change';
      readonly id: number;
      readonly change: PatchChange;
      readonly heard?: Hearing;
    }
  /**
   * How much plays round and round; `undefined` is the song, as `render --loop` has it. And from where;
   * `undefined` is its start, and so is a place that the patch has not.
   */
  | {
      readonly type: 'length';
      readonly id: number;
      readonly bars: number | undefined;
      readonly from?: From | undefined;
    }
  /** Listen at a jack beside the mix, or no longer. */
  | { readonly type: 'probe'; readonly id: number; readonly jack: string | undefined }
  /** Whose envelope and spectrum are drawn: the name of a voice, or the mix. */
  | { readonly type: 'voice'; readonly id: number; readonly voice: string | undefined }
  /** What of the mix is heard: one voice, all but one, or all. */
  | { readonly type: 'solo'; readonly id: number; readonly solo: Solo | undefined }
  /** One stroke, beside whatever else is worked on. */
  | { readonly type: 'stroke'; readonly id: number; readonly stroke: StrokeWish }
  /** The clip as a WAV file, the bytes that `forehear render --loop` would write. */
  | { readonly type: 'clip'; readonly id: number }
  /** Tell what hands do to make one version into another. */
  | {
      readonly type: 'moves';
      readonly id: number;
      readonly first: PatchTexts;
      readonly other: PatchTexts;
    }
  /** Measure a loop, of 1.0 as full scale. */
  | {
      readonly type: 'figures';
      readonly id: number;
      readonly channels: readonly Float32Array[];
      readonly sampleRate: number;
    }
  /** Draw spectra over one another, as loud as they are or made equally loud. */
  | {
      readonly type: 'spectra';
      readonly id: number;
      readonly of: readonly SpectrumOf[];
      readonly isEqual: boolean;
    }
  /**
   * Tell of a cable, by its name, as it is patched after those before it in patching order. `undefined`, or one
   * that is gone, is the first that is not among those that are `done`.
   */
  | {
      readonly type: 'along';
      readonly id: number;
      readonly cable: string | undefined;
      readonly done: readonly string[];
    };

/** From the engine to the page. */
export type EngineAnswer =
  | { readonly type: 'state'; readonly id: number; readonly state: TextsState }
  /** A change that cannot be made; the texts stay as they were. */
  | { readonly type: 'refused'; readonly id: number; readonly message: string }
  /** A stretch of the loop, as soon as it is rendered; newer requests end older ones. */
  | { readonly type: 'sound'; readonly id: number; readonly sound: Sound }
  /** How much of the song has been played up to a stretch of it that has no sound yet, as a share. */
  | { readonly type: 'way'; readonly id: number; readonly share: number }
  | {
      readonly type: 'findings';
      readonly id: number;
      readonly parts: Parts;
      /** The one that is told where the hand is; absent if there is nothing worse than a note. */
      readonly told?: FindingView;
    }
  /** What would mend the finding that was told last for this request. */
  | { readonly type: 'mend'; readonly id: number; readonly mend: MendView }
  | {
      readonly type: 'charts';
      readonly id: number;
      readonly charts: readonly ChartView[];
      /** Why there is nothing to draw. */
      readonly lack?: string;
      /** How loud the voice is that they are of; absent for the mix. */
      readonly level?: VoiceLevel;
    }
  | {
      readonly type: 'stroke';
      readonly id: number;
      readonly stroke: StrokeWish;
      readonly sampleRate: number;
      /** Of 1.0 as full scale; none where nothing is heard. */
      readonly channels: readonly Float32Array<ArrayBuffer>[];
    }
  | {
      readonly type: 'score';
      readonly id: number;
      readonly score: readonly ScoreView[];
      readonly parts: Parts;
    }
  | { readonly type: 'outline'; readonly id: number; readonly outline: OutlineView }
  | { readonly type: 'clip'; readonly id: number; readonly wav: Uint8Array }
  /** Without moves where one of the two is no patch. */
  | { readonly type: 'moves'; readonly id: number; readonly moves?: readonly MoveView[] }
  | { readonly type: 'figures'; readonly id: number; readonly figures: VersionFigures }
  | { readonly type: 'spectra'; readonly id: number; readonly spectra: SpectraView }
  | { readonly type: 'along'; readonly id: number; readonly along: AlongView }
  /** What should be heard at it, once it is played. */
  | { readonly type: 'along-heard'; readonly id: number; readonly heard: AlongHeard }
  /** Forehear itself failed: a mistake of ours, told as it is. */
  | { readonly type: 'failed'; readonly id: number; readonly message: string };

/** Markup for the elements `data-part="NAME"`, all texts in it made harmless. */
export type Parts = Readonly<Record<string, string>>;

/** What of the sheet follows from the texts without playing them. */
export interface OutlineView {
  readonly parts: Parts;
  /** What the block diagrams show, as a text to compare. */
  readonly figures: string;
}

/** What the texts say. */
export interface TextsState {
  readonly files: PatchTexts;
  /** Empty if the texts are a patch; if not, `view` is absent and the last good sound plays on. */
  readonly problems: readonly ProblemView[];
  readonly view?: PatchView;
}

export interface ProblemView {
  readonly file: string;
  readonly line: number;
  readonly column: number;
  /** The message with the line and its caret, as the command line prints it. */
  readonly text: string;
}

export interface PatchView {
  readonly title: string;
  readonly modules: readonly ModuleView[];
  readonly rhythms: readonly RhythmView[];
  readonly voices: readonly VoiceView[];
  /** The modules that are in no voice. */
  readonly shared: readonly string[];
  readonly cables: readonly CableView[];
  readonly loop: LoopView;
}

/** A voice: a chapter of the page. */
export interface VoiceView {
  readonly name: string;
  /** Whether it is a part of the patch, and so has a diagram of its own. */
  readonly isPart: boolean;
  readonly modules: readonly string[];
  /** Jacks with a plug in them. */
  readonly jacks: number;
  /** The channels that start it. */
  readonly channels: readonly VoiceChannel[];
  /** Where its level in the mix is set. */
  readonly levels: readonly { readonly module: string; readonly setting: string }[];
}

export interface VoiceChannel extends ChannelName {
  /** Its note in a MIDI file, and of a MIDI pad. */
  readonly note: number;
}

/** A cable, in the order in which one patches, from 1. */
export interface CableView {
  readonly number: number;
  readonly from: string;
  readonly to: string;
}

export interface VoiceLevel {
  readonly voice: string;
  /** Integrated loudness of the voice in the mix, LUFS; none where it is silent, or not told. */
  readonly lufs?: number;
  /** Whether it cannot be told: the voice goes on through what does more than add. */
  readonly isUntold?: boolean;
  /** LU under the whole; absent where the two do not compare. */
  readonly under?: number;
}

export interface LoopView {
  readonly sampleRate: number;
  readonly frames: number;
  /** Times of the bars' first steps, s. */
  readonly bars: readonly number[];
  /** Whether the song is longer than what is played. */
  readonly shortened: boolean;
  /** Where it begins in the song, s, and the number of its first bar. */
  readonly start: number;
  readonly firstBar: number;
  readonly played: readonly PlayedView[];
}

/** A pattern played once. */
export interface PlayedView {
  readonly module: string;
  readonly pattern: string;
  /** The entry of the song from 0, how often it has played before, and how often it plays in all. */
  readonly entry: number;
  readonly repeat: number;
  readonly repeats: number;
  /** s from the start of the loop. */
  readonly start: number;
  readonly end: number;
  /** Length of a straight step, s, and where the off-step of a pair comes in it. */
  readonly step: number;
  readonly swing: number;
}

export interface ModuleView {
  readonly name: string;
  readonly kind: string;
  readonly about: string;
  readonly unit?: string;
  readonly settings: readonly SettingView[];
}

export interface SettingView {
  readonly name: string;
  readonly about: string;
  /** The value as the file writes it. */
  readonly text: string;
  /** Whether the patch says so, rather than leaving it as it usually is. */
  readonly isGiven: boolean;
  /** What it usually is, as the file would write it; absent where that is a list. */
  readonly usual?: string;
  /** The same otherwise: notes as volts and volts as notes, or where a volt moves it to. */
  readonly reading?: string;
  /** Where the rack's dial stands for it. */
  readonly dial?: string;
  /** Whether that is how the patch gives it. */
  readonly isDialGiven?: boolean;
  readonly control: Control;
}

/** How a setting is moved. */
export type Control =
  /** Along a scale between two ends: position 0 to 1 and back are worked out by `page/scale`. */
  | {
      readonly type: 'number';
      readonly quantity: string;
      readonly value: number;
      readonly min: number;
      readonly max: number;
      readonly fallback: number;
      readonly units: readonly string[];
      /** A share that goes round in a loop: its scale goes by how long that rings. */
      readonly rings?: true;
    }
  | { readonly type: 'choice'; readonly options: readonly string[] }
  /** Typed alone. `sort` is what it is, where a number alone can be completed. */
  | {
      readonly type: 'text';
      readonly expected: string;
      readonly sort?: 'span' | 'rate' | 'pitches';
    };

export interface RhythmView {
  readonly module: string;
  /** The entries of the song, each as `answer × 2`. */
  readonly song: readonly string[];
  /** The same as they can be changed. */
  readonly entries: readonly EntryView[];
  /** How many the song has, the last perhaps not whole. */
  readonly bars: number;
  /** Their names, each with its note if the patch gives one. */
  readonly channels: string;
  readonly controls: WordControls;
  readonly patterns: readonly PatternView[];
}

/** What a place of the score says of its own, as the file writes it: `tempo`, `96 bpm`. */
export type Said = Readonly<Record<string, string>>;

/** What each sort of place may say. */
export type WordControls = Readonly<Record<ScorePlace['type'], readonly WordControl[]>>;

export interface WordControl {
  readonly word: string;
  readonly about: string;
  readonly control: Control;
}

export interface EntryView {
  readonly pattern: string;
  /** Its `repeats` too, where they are not 1. */
  readonly said: Said;
  /** Where it starts the first time that the song is played, both from 1; the beat may be within one. */
  readonly bar: number;
  readonly beat: number;
}

export interface PatternView {
  readonly name: string;
  readonly stepsPerQuarter: number;
  /** Steps: a line with fewer goes round. */
  readonly length: number;
  /** What it says besides its lines, such as `tempo 96 bpm`. */
  readonly own?: string;
  /** The pattern that it starts from. */
  readonly from?: string;
  readonly said: Said;
  /** What holds where it says nothing itself. */
  readonly usual: Said;
  readonly channels: readonly ChannelView[];
}

export interface ChannelView {
  readonly name: string;
  /** One sign a step, as drum tab has it. */
  readonly steps: string;
  /** What its line says besides its steps, such as `chance 70 %`. */
  readonly own?: string;
  /** Whether the pattern writes it itself; one that comes `from` another is written when changed. */
  readonly isOwn: boolean;
  /** Whether it has a line at all; otherwise it rests. */
  readonly hasLine: boolean;
  readonly said: Said;
  /** What single steps say, by their numbers from 1. */
  readonly at: Readonly<Record<number, Said>>;
  /** What steps are besides their signs, by their places from 0. */
  readonly marks: Readonly<Record<number, StepMark>>;
}

/** A stretch of the loop, or of the probed jack. */
export interface Sound {
  /** First frame. */
  readonly from: number;
  /** Frames of the whole loop. */
  readonly frames: number;
  /** Of 1.0 as full scale; left, or left and right. */
  readonly channels: readonly Float32Array[];
  /** Volts of the probed jack, if there is one. */
  readonly probe?: { readonly jack: string; readonly volts: Float32Array };
  /** Whether the loop is whole with this, tail wrapped into the head: the bytes of the command line. */
  readonly isWhole: boolean;
  /** Integrated loudness of the loop, once whole. */
  readonly loudnessLufs?: number;
  readonly peakDbfs?: number;
  /** Whether it is not the mix, but one voice of it or all but one. */
  readonly isPart?: boolean;
}

export interface ChartView {
  /** What it is: envelope, spectrum, volts. */
  readonly name: string;
  readonly svg: string;
  readonly caption: string;
}

/** What to do, to what, and from what to what. */
export type MoveView = readonly [verb: string, what: string, detail: string];

export type VersionFigures = VariantMeasures;

/** A spectrum to be drawn: its name, and levels in dB over Hz, null where a band holds nothing. */
export interface SpectrumOf {
  readonly name: string;
  readonly points: readonly (readonly [hz: number, db: number | null])[];
}

export interface SpectraView {
  readonly svg: string;
  readonly caption: string;
}

/** The cables of a patch in patching order, and one of them as it is plugged. */
export interface AlongView {
  readonly cables: readonly AlongCable[];
  /** Absent where there is no cable. */
  readonly step?: AlongStepView;
  /** Why there is none. */
  readonly lack?: string;
}

export interface AlongCable {
  /** Both ends, `module.jack module.jack`. */
  readonly name: string;
  readonly group: string;
  readonly number: number;
  readonly from: string;
  readonly to: string;
}

export interface AlongStepView {
  readonly name: string;
  readonly from: AlongEnd;
  readonly to: AlongEnd;
  /** In a word or two. */
  readonly carries: string;
  /** What to measure at the jack that it goes to: when, and how many volts. */
  readonly rows: readonly (readonly [when: string, volts: string])[];
  /** What the jack makes of it, if it is a trigger input. */
  readonly trigger?: string;
  /** What can be wrong where the meter shows something else. */
  readonly suspects: readonly SuspectView[];
}

export interface AlongEnd {
  readonly module: string;
  readonly jack: string;
  readonly kind: string;
  readonly about: string;
}

export interface SuspectView {
  readonly what: string;
  readonly look: string;
  /** What the meter shows with it. */
  readonly shows: string;
  /** Whether a meter cannot tell it from what should be. */
  readonly isAlike: boolean;
  readonly why?: string;
}

export interface AlongHeard {
  readonly words: string;
  /** As in {@link AlongStepView}. */
  readonly rows: readonly (readonly [when: string, volts: string])[];
  /** Absent where nothing is to be heard. */
  readonly sound?: {
    /** `output`: its channels, 1.0 being full scale; `jack`: volts. */
    readonly at: 'output' | 'jack';
    readonly frames: number;
    readonly channels: readonly Float32Array<ArrayBuffer>[];
  };
}

/** The newest finding, or the worst where none is new. */
export interface FindingView {
  readonly severity: 'fault' | 'caution';
  /** How many there are: `1 fault, 2 cautions`. */
  readonly counts: string;
  /** In a few words: `shape.trigger never fires`. */
  readonly headline: string;
  readonly message: string;
  /** What a person can do about it. */
  readonly fix: string;
  /** Where it is marked. */
  readonly at: FindingPlace;
  /** Whether a change that a hand made there has brought it. */
  readonly isByHand: boolean;
}

export type FindingPlace =
  | { readonly type: 'setting'; readonly module: string; readonly setting: string }
  /** Its two ends, `module.jack`. */
  | { readonly type: 'cable'; readonly from: string; readonly to: string }
  | { readonly type: 'module'; readonly module: string }
  /** What has no place of its own, such as a rack with too few cables. */
  | { readonly type: 'patch' };

export interface MendLine {
  readonly isNew: boolean;
  readonly text: string;
}

/** What `check --fix` would do about one finding. */
export interface MendView {
  /** The texts with it. */
  readonly files: PatchTexts;
  /** Lines that it takes away and puts in. */
  readonly lines: readonly MendLine[];
}

/** A picture of some bars of the score, and where time lies in it, so that a line can move over it. */
export interface ScoreView {
  readonly svg: string;
  readonly caption: string;
  /** Seconds at the left and the right end of its time axis, and where these are, in its own units. */
  readonly from: number;
  readonly to: number;
  readonly left: number;
  readonly right: number;
  readonly width: number;
  readonly height: number;
}

/** What `listen` serves beside the page: the page's element `host`. Addresses are from the page's own. */
export interface Host {
  /** A stream of {@link HostEvent}. */
  readonly events: string;
  /** Takes a {@link SaveRequest} as JSON, and answers with a {@link SaveAnswer}. */
  readonly save: string;
  /** Takes {@link PatchTexts} as JSON, and answers with a {@link DrawAnswer}. */
  readonly draw: string;
}

/** From the host, each the data of a server-sent event. What stands on the disk comes at once, again after each reconnection, and whenever it changes. */
export type HostEvent =
  | {
      readonly type: 'files';
      /** As on the disk; its texts may hold problems. */
      readonly files: PatchTexts;
      /** Goes up with every change of the files: what comes with a lower one is old news. */
      readonly edition: number;
    }
  /** A file is gone or cannot be read: work on with what there is. */
  | { readonly type: 'unreadable'; readonly message: string }
  /** The host ends: nothing can be saved from here any more. */
  | { readonly type: 'end' };

export interface SaveRequest {
  /** What is to be written, by the names of {@link PatchTexts}; with `as`, the main file alone. */
  readonly texts: Readonly<Record<string, string>>;
  /** What the host last sent of these files. A file that now differs on the disk is a conflict. */
  readonly before: Readonly<Record<string, string>>;
  /** Name of a new file in the patch's own folder, ending in `.yaml`. */
  readonly as?: string;
  /** Write over what has changed on the disk meanwhile. */
  readonly overwrite?: boolean;
}

export type SaveAnswer =
  /** The files written, by their paths, and the edition of the files since then. */
  | {
      readonly type: 'saved';
      readonly files: readonly string[];
      /** New files that hold what others had changed and was written over. */
      readonly kept?: readonly string[];
      readonly edition: number;
    }
  /** Nothing was written: this file has changed on the disk, or is gone. */
  | { readonly type: 'conflict'; readonly file: string; readonly message: string }
  /** Nothing was written, or not all of it, as the message says. */
  | { readonly type: 'refused'; readonly message: string };

/** The block diagrams of some texts, which only the host can lay out. */
export type DrawAnswer =
  | {
      readonly type: 'drawn';
      /** As in {@link OutlineView}. */
      readonly figures: string;
      /** Markup for the island `diagram`. */
      readonly markup: string;
    }
  /** The texts are no patch, or the host does not answer. */
  | { readonly type: 'refused'; readonly message: string };
