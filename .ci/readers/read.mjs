// node read.mjs duckdb|hyparquet FILE: reads a Parquet file and prints what is
// in it: rows, and for each column how many values are not null and their sum
// (of numbers; of text the bytes, of truth values the true ones), and the file's
// key-value metadata.
const [reader, path] = process.argv.slice(2)

async function duckdb() {
  const { DuckDBInstance } = await import('@duckdb/node-api')
  const connection = await (await DuckDBInstance.create()).connect()
  const query = async (sql) => (await connection.runAndReadAll(sql)).getRowObjects()
  const file = `'${path.replaceAll("'", "''")}'`
  const columns = []
  for (const { column_name: name, column_type: type } of await query(`describe select * from read_parquet(${file})`)) {
    const quoted = `"${name}"`
    const value = { VARCHAR: `strlen(${quoted})`, BOOLEAN: `${quoted}::int`, BIGINT: quoted, DOUBLE: quoted }[type]
    if (value === undefined) throw new Error(`column ${name} is ${type}`)
    const [{ n, s }] = await query(`select count(${quoted}) n, coalesce(sum(${value}), 0)::double s from read_parquet(${file})`)
    columns.push({ name, count: Number(n), sum: Number(s) })
  }
  const [{ rows }] = await query(`select count(*) as rows from read_parquet(${file})`)
  const metadata = {}
  for (const { key, value } of await query(`select decode(key) as key, decode(value) as value from parquet_kv_metadata(${file})`)) {
    metadata[key] = value
  }
  return { rows: Number(rows), columns, metadata }
}

async function hyparquet() {
  const { asyncBufferFromFile, parquetMetadataAsync, parquetReadObjects } = await import('hyparquet')
  const { compressors } = await import('hyparquet-compressors')
  const file = await asyncBufferFromFile(path)
  const footer = await parquetMetadataAsync(file)
  const columns = footer.schema.slice(1).map(({ name }) => ({ name, count: 0, sum: 0 }))
  for (const row of await parquetReadObjects({ file, compressors })) {
    for (const column of columns) {
      const value = row[column.name]
      if (value === null || value === undefined) continue
      column.count++
      column.sum += typeof value === 'string' ? Buffer.byteLength(value) : Number(value)
    }
  }
  const metadata = {}
  for (const { key, value } of footer.key_value_metadata) metadata[key] = value
  return { rows: Number(footer.num_rows), columns, metadata }
}

console.log(JSON.stringify(await { duckdb, hyparquet }[reader]()))
