// SPDX-License-Identifier: Apache-2.0
// A matrix in hand: what of it is edited, how to edit more, and what the daemon says to it.
import { useSignal } from '@preact/signals';
import type { MatrixAnswer, MatrixPatch, MatrixSettings } from '../api/matrix';
import { ofMatrices, type MatrixDraft } from '../edit/drafts';
import { judge, matrixActs } from '../edit/matrix_acts';
import { isTheirs } from '../edit/use_editing';
import type { HeardMatrix } from '../feed/state';
import { live, state } from '../feed/store';
import { fullWords, inForce, namesOf, toggled, type Stand } from '../model/matrix';
import { patchOf } from '../model/matrix_settings';
import { may } from '../session/session';
import { useAct, type Acting } from '../ui/act';
import { announce } from '../ui/announce';
import { useAnswer, type Following } from '../ui/use_answer';

const settle = 120; // ms without an edit before the daemon is asked

export interface MatrixEditing {
  matrix: HeardMatrix;
  draft: MatrixDraft | undefined;
  // With the edits; absent: nothing is known.
  settings: MatrixSettings | undefined;
  stand: Stand;
  disabled: boolean;
  verdict: Following<MatrixAnswer>;
  acting: Acting;
  change: (patch: MatrixPatch) => void;
  // Lets an output hear an input, or not any more.
  toggle: (output: number, input: number) => void;
  // Why the last press did nothing.
  because: string;
}

function useVerdict(matrix: HeardMatrix, draft: MatrixDraft | undefined): Following<MatrixAnswer> {
  const { name, seen } = matrix;
  const { rack } = state.value;
  const question = draft && [name, rack?.revision, rack?.segment, seen?.settings, draft];
  return useAnswer(
    question ? JSON.stringify(question) : null,
    (signal) => judge(name, patchOf(draft!.base, draft!.settings), signal),
    settle,
  );
}

function standOf(matrix: HeardMatrix, draft: MatrixDraft | undefined): Stand {
  return {
    seen: matrix.seen?.settings ?? matrix.set_by_hand,
    // What was wanted here says nothing of one that another controller has.
    wanted: isTheirs(matrix) ? undefined : matrix.wanted,
    draft,
    moving: matrix.change !== undefined || matrix.agreement === 'changing',
  };
}

export function useMatrix(matrix: HeardMatrix): MatrixEditing {
  const { name, wanted } = matrix;
  const acting = useAct();
  const because = useSignal('');
  const draft = ofMatrices.drafts.value.get(name);
  const canBeSet = matrix.set_from_here && wanted !== undefined && !isTheirs(matrix);
  const disabled = !canBeSet || !live.value || !may(matrixActs.set) || acting.busy;
  const change = (patch: MatrixPatch): void => {
    if (disabled || !wanted) return;
    acting.clear();
    because.value = '';
    ofMatrices.edit(name, wanted, patch);
  };
  const settings = canBeSet ? (draft?.settings ?? wanted) : inForce(matrix);
  return {
    matrix,
    draft,
    settings,
    stand: standOf(matrix, draft),
    disabled,
    verdict: useVerdict(matrix, draft),
    acting,
    change,
    toggle: (output, input) => {
      if (disabled || !settings) return;
      const most = matrix.datasheet.most_summed;
      const routes = toggled(settings, { output, input, most });
      if (routes) return change({ routes: { [output]: routes } });
      because.value = fullWords(namesOf(matrix).output(output), most);
      announce(because.value);
    },
    because: because.value,
  };
}
