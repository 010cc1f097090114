// SPDX-License-Identifier: Apache-2.0
// The heads of tables, and tables that are wider than a screen.
import type { ComponentChildren, JSX } from 'preact';

export const Head = ({ columns }: { columns: readonly ComponentChildren[] }): JSX.Element => (
  <thead>
    <tr>
      {columns.map((column, i) => (
        <th key={i} scope="col">
          {column}
        </th>
      ))}
    </tr>
  </thead>
);

interface Props {
  label: string;
  class: string;
  columns: readonly string[];
  // Its rows.
  children: ComponentChildren;
}

export const WideTable = ({ label, columns, children, ...table }: Props): JSX.Element => (
  <div class="scroll" tabIndex={0} role="region" aria-label={label}>
    <table {...table}>
      <Head columns={columns} />
      <tbody>{children}</tbody>
    </table>
  </div>
);
