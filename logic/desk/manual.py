"""What ``voltwalk-office --help`` teaches: one text a command, each with examples to copy."""

GROUP = """Keep, find, check and hand out the workshop's records.

The records are those of the phone app: bring them here with 'import'. Nothing signed is ever
changed here; 'erase' takes out a customer's name and leaves the technical record.

\b
Begin like this:
  voltwalk-office import van.voltwalk      take in what a phone sent
  voltwalk-office find lib                 which vehicle was it
  voltwalk-office show "LIB 042"           what was done to it
  voltwalk-office export "LIB 042"         print it again as a PDF
  voltwalk-office verify record.pdf        is this what was signed

The store's folder is --store, else $VOLTWALK_STORE, else the usual place for a program's data.
A VEHICLE is its plate, any part of it that fits only one, or the id that 'list' shows.

Exit status: 0 done, 1 refused or not intact (the reason is on the error stream), 2 wrong call.
"""

LIST = """List the vehicles, latest work first.

\b
Examples:
  voltwalk-office list
  voltwalk-office list --limit 500
  voltwalk-office list --json | python3 -m json.tool
"""

FIND = """Find vehicles by any part of plate, description, VIN or customer.

Case, spaces and dashes do not matter.

\b
Examples:
  voltwalk-office find 042
  voltwalk-office find library --json
"""

SHOW = """Show a vehicle: what is fitted, its jobs, their readings and their signed revisions.

\b
Examples:
  voltwalk-office show "LIB 042"
  voltwalk-office show 0123456789ab | less
"""

EXPORT = """Write signed records to files others can open.

FORMAT pdf is the printed record with the record itself attached, json the sealed record,
csv every reading and check as one table, label the sticker for the unit, bundle one file with
everything (photos too) for another phone or desk. Without VEHICLE, everything is exported.
Where there is one file and no --to, json and csv go to the standard output.

\b
Examples:
  voltwalk-office export "LIB 042"
  voltwalk-office export "LIB 042" --format json > record.json
  voltwalk-office export --format csv --to readings.csv
  voltwalk-office export "LIB 042" --format label --to sticker.pdf
  voltwalk-office export "LIB 042" --format bundle --without-customer --to van.voltwalk
"""

IMPORT = """Take in bundles from phones and other desks.

In any order and as often as you like: what is there already is left alone. A file that is
damaged or not ours is refused as a whole. Where two phones answered the same step, both
answers are kept and named.

\b
Examples:
  voltwalk-office import van.voltwalk
  voltwalk-office import phone-1.voltwalk phone-2.voltwalk
"""

VERIFY = """Say whether signed records are what was signed, or what was changed.

FILE is a printed record (PDF) or a sealed record (JSON); - reads it from the standard input.
Exit status 1 if any is not intact. --hash compares with the hash from a label or a
print; the digits that a sticker shows are enough.

\b
Examples:
  voltwalk-office verify record.pdf
  voltwalk-office verify record.json --hash 8d626812103f...
  voltwalk-office verify archive/*.pdf && echo all intact
"""

BACKUP = """Copy the store, checked page by page, and its photos into a folder.

Photos that are there already are not copied again, so a USB stick fills slowly.

\b
Examples:
  voltwalk-office backup /media/stick/voltwalk
"""

RESTORE = """Put a backup in the place of the store; the store that was there is kept beside it.

Without BACKUP, list the copies that the store took by itself.

\b
Examples:
  voltwalk-office restore
  voltwalk-office restore /media/stick/voltwalk/voltwalk-20261124-170000.db
"""

DIAGNOSE = """Say what a case's readings point to, as JSON.

CASE is a file with "installation", "readings" and, if there is one, "baseline"; - reads the
standard input. The answer has findings, marginals, next_readings, suspect_readings and
verdicts. It advises; the technician decides.

\b
Examples:
  voltwalk-office diagnose case.json
  voltwalk-office diagnose - < case.json | python3 -m json.tool
"""

STATS = """Sum up the signed records: faults, installers' readings, how long jobs take.

Only the latest revision of each job counts.

\b
Examples:
  voltwalk-office stats
  voltwalk-office stats --json > stats.json
"""

ERASE = """Erase a vehicle's customer: name, contact and finger signatures, here and in backups.

The technical record stays and still verifies. This cannot be undone, so VEHICLE must be the
whole plate or the id.

\b
Examples:
  voltwalk-office erase "LIB 042"
  voltwalk-office erase "LIB 042" --yes
"""

LABEL = """Say what a label's code says, from a scanner or pasted; - reads the standard input.

With --case, write it as a case whose baseline is the label's readings: add today's readings
and give it to 'diagnose'.

\b
Examples:
  voltwalk-office label "VOLTWALK:AEASGRLHRGV4..."
  voltwalk-office label - --case < scanned.txt > case.json
"""
