// node queries.mjs FILE.sql: runs the statements of a file in DuckDB, in the
// current folder, and prints the rows of each as a line of JSON.
import { readFileSync } from 'node:fs'
import { DuckDBInstance } from '@duckdb/node-api'

const connection = await (await DuckDBInstance.create()).connect()
const text = readFileSync(process.argv[2], 'utf8').replace(/^--.*$/gm, '')
for (const statement of text.split(';').map((s) => s.trim()).filter(Boolean)) {
  const rows = (await connection.runAndReadAll(statement)).getRowObjectsJson()
  console.log(JSON.stringify(rows))
}
