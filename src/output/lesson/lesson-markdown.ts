/** A lesson in Markdown, for people who go on writing it: a course's own notes, slides, a wiki. */

import { jackName } from '../../patch/patch.ts';
import { printableLines } from '../../text/printable.ts';
import { escapedMarkdown, markdownCode, markdownTable } from '../markdown.ts';
import { linkTo } from '../markup.ts';
import {
  cueOf,
  type Lesson,
  levelOf,
  type Marks,
  paragraphsOf,
  type ToldStage,
  titleOf,
} from './lesson-words.ts';

/** Writes it. */
export function lessonMarkdown(lesson: Lesson): string {
  const { patch, stages, joined } = lesson;
  const parts = [
    `# ${escapedMarkdown(titleOf(lesson))}`,
    ...(patch.about === '' ? [] : [escapedMarkdown(patch.about)]),
    `Start with the volume low. ${levelOf(lesson)} [All of them one after the other](${linkTo(joined)}), with a cue point at each.`,
    markdownTable(
      ['', 'stage', 'at the jack', 'in the joined file'],
      stages.map((told, index) => [
        String(index + 1),
        escapedMarkdown(told.stage.title),
        markdownCode(jackName(told.stage.jack)),
        cueOf(told),
      ]),
    ),
    ...stages.map(stageText),
  ];
  return printableLines(`${parts.join('\n\n')}\n`);
}

function stageText(told: ToldStage, index: number): string {
  const { stage, clip, picture } = told;
  const lines = [
    `## ${index + 1}. ${escapedMarkdown(stage.title)}`,
    ...paragraphsOf(told, MARKS),
    ...(clip === undefined ? [] : [`Listen: [${escapedMarkdown(clip)}](${linkTo(clip)})`]),
    `![${escapedMarkdown(stage.title)}](${linkTo(picture)})`,
  ];
  return lines.filter((line) => line !== '').join('\n\n');
}

const MARKS: Marks = {
  plain: escapedMarkdown,
  strong: (words) => `**${escapedMarkdown(words)}**`,
  code: markdownCode,
};
