// Validates an unpacked export package: its descriptor against the published profile, each table's rows against its schema, and
// each file's size and SHA-256. Then it spoils a cell and demands that the reader notices, so that a pass means something.
const { Package } = require('datapackage')
const { Table } = require('tableschema')
const crypto = require('crypto')
const fs = require('fs')
const path = require('path')

async function main(dir) {
  const descriptor = JSON.parse(fs.readFileSync(path.join(dir, 'datapackage.json'), 'utf8'))
  const pkg = await Package.load(descriptor, { basePath: dir, strict: true })
  if (!pkg.valid) throw new Error('the descriptor is not valid: ' + pkg.errors.join('; '))
  let rows = 0
  for (const resource of pkg.resources) {
    const d = resource.descriptor
    const data = fs.readFileSync(path.join(dir, d.path))
    const hash = 'sha256:' + crypto.createHash('sha256').update(data).digest('hex')
    if (data.length !== d.bytes || hash !== d.hash) throw new Error(d.path + ': size or SHA-256 is not as the descriptor says')
    if (d.profile !== 'tabular-data-resource') continue
    if (!resource.tabular) throw new Error(d.path + ' is not seen as a table')
    rows += (await resource.read({ keyed: true })).length // casts and checks every cell
  }
  await spoilt(dir, pkg.getResource('rounds').descriptor)
  console.log(`${path.basename(dir)}: valid; profile ${pkg.profile.name}, ${pkg.resources.length} resources, ${rows} rows read and cast`)
}

// A number that is none must be reported for its column.
async function spoilt(dir, d) {
  const field = d.schema.fields.find(f => f.type === 'number')
  const lines = fs.readFileSync(path.join(dir, 'rounds.csv'), 'utf8').split('\r\n')
  const at = lines[0].split(',').indexOf(field.name)
  const cells = lines.slice(1).find(l => l !== '' && !l.includes('"')).split(',') // a row without quotes
  cells[at] = 'high'
  const table = await Table.load([lines[0].split(','), cells], { schema: d.schema })
  try {
    await table.read()
  } catch (err) {
    const text = [err.message, ...(err.errors || []).map(e => e.message)].join(' ')
    if (text.includes(field.name) || text.includes('high')) return
    throw err
  }
  throw new Error('a spoilt cell was not noticed: this check checks nothing')
}

main(process.argv[2]).catch(err => {
  console.error(err.message)
  for (const e of err.errors || []) console.error('  ' + e.message)
  process.exit(1)
})
