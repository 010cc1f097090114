// SPDX-License-Identifier: Apache-2.0
// Inputs down, outputs across. One cell at a time is in the order of tabs, and keys move among them
// (WAI-ARIA Authoring Practices, "Data Grids").
import type { JSX } from 'preact';
import type { MatrixInput, MatrixOutput } from '../api/matrix';
import {
  hearsWords,
  heardByWords,
  pluggedIn,
  outputName,
  passageOf,
  passageWords,
  passes,
  takenBy,
  type Passage,
} from '../model/matrix';
import { LabelFact, LevelFact, SupplyFact } from './facts';
import { OpenEnd, PassageSign } from './passage';
import { threads, type Thread } from './threads';
import type { Roving } from './use_roving';
import type { MatrixEditing } from './use_matrix';

// More rows than a screen has.
const mostInSight = 14;

interface Props {
  editing: MatrixEditing;
  // The input in hand.
  chosen: number;
  roving: Roving;
}

interface HeadProps {
  editing: MatrixEditing;
  output: MatrixOutput;
}

function OutputHead({ editing, output }: HeadProps): JSX.Element {
  const { matrix, settings } = editing;
  const most = matrix.datasheet.most_summed;
  const taken = takenBy(settings, output.output).length;
  const hears = hearsWords(matrix, output);
  return (
    <th scope="col" class="output">
      <span class="port">{output.output}</span>
      {output.receiver === undefined && output.ends_at === undefined ? (
        <span class="quiet">no receiver</span>
      ) : (
        <b>{outputName(output)}</b>
      )}
      {output.hears.length === 0 ? (
        <OpenEnd words={hears} />
      ) : (
        <span class="quiet">
          <span class="unseen">{hears}; </span>
          {most > 1 && `${taken} of ${most}`}
        </span>
      )}
    </th>
  );
}

interface RowProps extends Props {
  input: MatrixInput;
  row: number;
  passages: readonly Passage[];
  drawn: readonly Thread[];
}

// The antenna, its label, and whether anybody hears it.
function InputHead({ editing, input, row, roving }: RowProps): JSX.Element {
  const { matrix, stand } = editing;
  const heardBy = heardByWords(matrix, input.input);
  const plugged = pluggedIn(input);
  return (
    <th scope="row" class="antenna" {...roving.cell(row, 0)}>
      <div class="antenna-head">
        <span class="port">{input.input}</span>
        <span class="antenna-name">
          {plugged === undefined ? <span class="quiet">no antenna</span> : <b>{plugged}</b>}
          <span class="quiet">
            <LabelFact input={input} stand={stand} />
          </span>
          {plugged !== undefined && heardBy.endsWith('nobody') && <OpenEnd words={heardBy} />}
        </span>
      </div>
    </th>
  );
}

const threadClass = ({ along, up }: Thread): string =>
  [along && `along-${along}`, up && `up-${up}`].filter(Boolean).join(' ');

function RouteRow(props: RowProps): JSX.Element {
  const { editing, chosen, input, row, passages, drawn, roving } = props;
  const { matrix, stand, disabled, toggle } = editing;
  const { datasheet, outputs } = matrix;
  const choose = roving.cell(row, 0).onFocus;
  const powers = datasheet.supplies_mv !== undefined || datasheet.measures_current;
  const levels = datasheet.trim_db !== undefined || datasheet.measures_level;
  return (
    <tr class={input.input === chosen ? 'in-hand' : ''}>
      <InputHead {...props} />
      {powers && (
        <td class="facts" onClick={choose}>
          <SupplyFact input={input} stand={stand} />
        </td>
      )}
      {levels && (
        <td class="facts" onClick={choose}>
          <LevelFact input={input} stand={stand} />
        </td>
      )}
      {outputs.map((output, i) => {
        const passage = passages[i] ?? 'none';
        const word = passage === 'none' ? 'not heard' : passageWords[passage];
        return (
          <td
            key={output.output}
            class={`route ${threadClass(drawn[i] ?? {})}`}
            aria-label={`${outputName(output)}: ${word}`}
            aria-selected={passes(passage)}
            aria-readonly={disabled}
            onClick={() => toggle(output.output, input.input)}
            {...roving.cell(row, i + 1)}
          >
            <PassageSign of={passage} />
          </td>
        );
      })}
    </tr>
  );
}

function Columns({ editing }: { editing: MatrixEditing }): JSX.Element {
  const { datasheet, outputs } = editing.matrix;
  return (
    <thead>
      <tr>
        <th scope="col" class="antenna">
          Input
        </th>
        {(datasheet.supplies_mv || datasheet.measures_current) && <th scope="col">Supply</th>}
        {(datasheet.trim_db || datasheet.measures_level) && <th scope="col">Level</th>}
        {outputs.map((output) => (
          <OutputHead key={output.output} editing={editing} output={output} />
        ))}
      </tr>
    </thead>
  );
}

export function RouteTable(props: Props): JSX.Element {
  const { editing, roving } = props;
  const { matrix, stand, disabled } = editing;
  const passages = matrix.inputs.map(({ input }) =>
    matrix.outputs.map(({ output }) => passageOf(stand, output, input)),
  );
  const drawn = threads(passages.map((row) => row.map(passes)));
  return (
    <div class={matrix.inputs.length > mostInSight ? 'scroll tall' : 'scroll'}>
      <table
        class={disabled ? 'routes-table' : 'routes-table editable'}
        role="grid"
        aria-label={`Routes of ${matrix.name}: inputs down, outputs across`}
        aria-multiselectable="true"
        ref={roving.table}
        onKeyDown={roving.onKeyDown}
      >
        <Columns editing={editing} />
        <tbody>
          {matrix.inputs.map((input, row) => (
            <RouteRow
              key={input.input}
              {...props}
              input={input}
              row={row}
              passages={passages[row] ?? []}
              drawn={drawn[row] ?? []}
            />
          ))}
        </tbody>
      </table>
    </div>
  );
}
