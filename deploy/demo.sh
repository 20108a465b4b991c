#!/usr/bin/env bash
# One day in a shop of our own invention, through the real binaries on a database of its own:
# builds, starts `tenthsd`, follows one rebuild from core to consumed kit, verifies, stops, cleans up.
# Needs a Rust toolchain and a C compiler, nothing else. Exits 0 only if every step came as told.
set -euo pipefail

root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd)
data=deploy/demo
columns=98

# Settings of whoever runs this must not change the story.
for name in "${!TENTHS_@}"; do unset "$name"; done
export NO_COLOR=1 LC_ALL=C

work=$(mktemp -d)
server=
clean_up() {
  local code=$?
  trap - EXIT
  if [[ -n $server ]]; then
    kill -TERM "$server" 2>/dev/null || true
    wait "$server" || true
  fi
  if ((code != 0)) && [[ -s $work/tenthsd.log ]]; then
    printf '\nThe last lines of the server:\n' >&2
    tail -n 15 "$work/tenthsd.log" >&2
  fi
  rm -rf -- "$work"
  exit "$code"
}
trap clean_up EXIT
trap 'exit 130' INT
trap 'exit 143' TERM

# --- Telling the story ---------------------------------------------------------------------------

chapter() { printf '\n\n== %s ==\n' "$1"; }
say() { printf '\n%s\n' "$*" | fold -s -w "$columns"; }
fail() {
  printf '\nFAILED: %s\n' "$1" >&2
  exit 1
}

# The command as a person types it, broken between options where it is too long.
typed() {
  local word line='$' group='' plain='^[A-Za-z0-9_./:=,@+%|-]+$'
  for word in "$@" --; do
    if [[ -n $group && $word == --* ]]; then
      if ((${#line} + ${#group} + 3 > columns)); then
        printf '%s \\\n' "$line"
        line='   '
      fi
      line+=" $group"
      group=
    fi
    [[ $word =~ $plain ]] || word="\"$word\""
    group+=${group:+ }$word
  done
  printf '%s\n' "$line"
}

# An answer: its sentences are folded, its tables stay whole.
answer() {
  awk -v width="$columns" '
    /^(note|error|hint|question|caution|warning): / || /^- / {
      line = ""
      count = split($0, words, " ")
      for (i = 1; i <= count; i++) {
        if (line != "" && length(line) + 1 + length(words[i]) > width) { print line; line = " " }
        line = (line == "") ? words[i] : line " " words[i]
      }
      print line
      next
    }
    { print }' "$work/answer"
}

run() {
  local code=0
  "$@" >"$work/answer" 2>&1 || code=$?
  return "$code"
}

# Does a step and shows it; it must succeed.
shown() {
  local code=0
  typed tenths "$@"
  run "$tenths" "$@" || code=$?
  answer
  ((code == 0)) || fail "exit $code"
}
mara() { shown --person mara "$@"; }
iven() { shown --person iven "$@"; }
oto() { shown --person oto "$@"; }

# Does a step of the bulk without showing it; it must succeed.
quietly() {
  local code=0
  run "$tenths" "$@" || code=$?
  ((code == 0)) && return
  typed tenths "$@"
  answer
  fail "exit $code"
}

# Does a step that must be refused with this exit code.
refused() {
  local expected=$1 code=0
  shift
  typed tenths "$@"
  run "$tenths" "$@" || code=$?
  answer
  ((code == expected)) || fail "exit $code where $expected was expected"
  printf '(refused with exit code %s, as it should be)\n' "$code"
}

# What the last answer must have said.
told() {
  local text
  for text in "$@"; do
    grep -qF -- "$text" "$work/answer" || fail "the answer does not say \"$text\""
  done
}

# Rows of a file without its header, as `while IFS='|' read -r ...` wants them.
rows() { tail -n +2 "$data/$1"; }

# A day from now, as YYYY-MM-DD.
day() { printf '%(%Y-%m-%d)T' "$(($(printf '%(%s)T' -1) + $1 * 86400))"; }

# --- Building and starting -----------------------------------------------------------------------

cd "$root"
echo 'Building tenthsd and tenths (the first time takes some minutes) ...'
cargo build --workspace --locked --bins
target=$(cargo metadata --format-version 1 --no-deps --locked |
  sed 's/.*"target_directory":"\([^"]*\)".*/\1/')
tenths=$target/debug/tenths
tenthsd=$target/debug/tenthsd
[[ -x $tenths && -x $tenthsd ]] || fail "no binaries in $target/debug"
started=$SECONDS

database=sqlite://$work/shop.db
"$tenthsd" serve --database "$database" --listen 127.0.0.1:0 --port-file "$work/port" \
  2>"$work/tenthsd.log" &
server=$!
for ((i = 0; i < 300; i++)); do
  [[ -s $work/port ]] && break
  kill -0 "$server" 2>/dev/null || fail 'tenthsd did not start'
  sleep 0.1
done
[[ -s $work/port ]] || fail 'tenthsd does not listen after 30 seconds'
TENTHS_SERVER=http://$(<"$work/port")
export TENTHS_SERVER

cat <<'END'

Quarry Lane Spindle & Pump rebuilds coolant pumps and lathe headstock drives.
mara is at receiving, iven is the tech, oto owns the place. One database file, one server.
END

# --- The shop ------------------------------------------------------------------------------------

chapter '1. The shop: places, gauges, catalogue'
shown health

say 'oto names the places, ...'
oto location add YARD-1 --kind core_yard --description 'pumps, under the roof'
while read -r code kind; do
  quietly --person oto location add "$code" --kind "$kind"
done <<'END'
YARD-2 core_yard
RECV receiving
BENCH-1 bench
BENCH-2 bench
A-1 shelf
A-2 shelf
A-3 shelf
B-1 shelf
B-2 shelf
B-3 shelf
C-1 shelf
C-2 shelf
C-3 shelf
QUEUE-1 queue_rack
KIT-1 kit
QUAR-1 quarantine
END
shown location list --page-size 6

say '... and the gauges, each with how it is set and how far to trust it (U, k=2). M-01C is the
same micrometer as M-01, used as a comparator on a gauge block.'
due=$(day 240)
oto gauge add M-01 --description '0-1 in micrometer' --resolution 0.0001in \
  --uncertainty 0.00018in --setting micrometer_standard --due "$due"
quietly --person oto gauge add M-01C --description '0-1 in micrometer against a gauge block' \
  --resolution 0.00005in --uncertainty 0.0001in --setting gauge_block --due "$due"
quietly --person oto gauge add M-01M --description '0-25 mm micrometer' \
  --resolution 0.01mm --uncertainty 0.01mm --setting micrometer_standard --due "$due"
quietly --person oto gauge add M-50 --description '25-50 mm micrometer' \
  --resolution 0.001mm --uncertainty 0.004mm --setting micrometer_standard --due "$due"
quietly --person oto gauge add BG-1 --description 'dial bore gauge, 35-65 mm, set in a ring' \
  --resolution 0.001mm --uncertainty 0.003mm --setting setting_ring --due "$due"
quietly --person oto gauge add PIN-1 --description 'key and slot gauge blocks' \
  --resolution 0.0001in --uncertainty 0.0003in --setting gauge_block --due "$due"
shown gauge list

say 'The catalogue comes from a file. A bearing needs no sizes: its number gives them.'
oto import items "$data/items.csv"
shown item show BRG-6205-C3
shown item show HD-938

# --- What is on the shelf ------------------------------------------------------------------------

chapter '2. What is on the shelf'
say 'mara counts in the lots. First a dry run, then for good.'
mara import lots "$data/lots.csv" --dry-run
mara import lots "$data/lots.csv"
shown lot list --page-size 6

say 'The measured pieces on the shelves, every one with its readings.'
mara import pieces "$data/pieces.csv"
shown piece list --page-size 6

# --- The cores that were there -------------------------------------------------------------------

chapter '3. A dozen cores'
say 'Twelve cores came through the door this month. mara logged each in one line:'
log_core() {
  local how=$1 tag=$2 description=$3 nameplate=$4 grade=$5 reason=$6 deposit=$7 at=$8 pair
  local plates=()
  for pair in $nameplate; do plates+=(--nameplate "$pair"); done
  "$how" --person mara core log --tag "$tag" --description "$description" "${plates[@]}" \
    --owner shop --grade "$grade" --reason "$reason" --deposit "$deposit" --at "$at"
}
how=shown
while IFS='|' read -r tag description nameplate grade reason deposit at; do
  log_core "$how" "$tag" "$description" "$nameplate" "$grade" "$reason" "$deposit" "$at"
  how=quietly
done < <(rows cores.psv)

say 'iven tore down eight of them, each part tagged, and typed the readings of each feature in one
line. One of those lines:'
core=
parts=()
tear_down() {
  if [[ -n $core ]]; then quietly --person iven core teardown "$core" "${parts[@]}"; fi
  parts=()
}
while IFS='|' read -r from tag item built_up outcome at; do
  if [[ $from != "$core" ]]; then
    tear_down
    core=$from
  fi
  parts+=(--piece "item=$item,at=BENCH-2,tag=$tag,built-up=$built_up")
done < <(rows teardown.psv)
tear_down
how=shown
while IFS='|' read -r tag feature gauge unit line; do
  "$how" --person iven read "$tag" --feature "$feature" --gauge "$gauge" "--$unit" "$line"
  how=quietly
done < <(rows readings.psv)

say 'Every piece was judged: what is good went to its shelf, what is not to quarantine.'
good=0 waiting=0
while IFS='|' read -r from tag item built_up outcome at; do
  case $outcome in
    accept)
      quietly --person iven assess "$tag"
      told "$tag: proposed reuse"
      quietly --person iven piece accept "$tag" --at "$at"
      good=$((good + 1))
      ;;
    keep)
      quietly --person iven assess "$tag"
      told "$tag: proposed recondition"
      quietly --person iven piece move "$tag" --to QUAR-1
      waiting=$((waiting + 1))
      ;;
  esac
done < <(rows teardown.psv)
printf '(%s pieces accepted, %s to be reconditioned, one shaft still to be measured)\n' \
  "$good" "$waiting"
shown core list --page-size 4
quietly --person oto recon enqueue P-222 --feature disc --method regrind \
  --target 0.7395..0.7400in --due "$(day 14)" --at QUEUE-1 --reason 'disc lost 0.0026 in'
quietly --person oto recon enqueue P-217 --feature bore --method sleeve --due "$(day 21)" \
  --at QUEUE-1 --reason '0.012 mm over'
quietly --person oto recon enqueue P-207 --feature seat-a --method build_up --due "$(day 28)" \
  --at QUEUE-1 --reason '0.0005 in under'

# --- The core of the story -----------------------------------------------------------------------

chapter '4. mara: a headstock drive comes through the door'
mara core log --tag C-213 --description 'headstock drive, 15/16 in disc shaft' \
  --nameplate hp=2 --nameplate rpm=500-2500 --nameplate volts=460 --nameplate serial=5203 \
  --owner shop --grade B --reason 'turns by hand, hunts at low speed' \
  --reason 'belt guard missing' --deposit '220.00 USD' --at YARD-2
shown core show C-213

chapter '5. iven: teardown and readings'
iven core move C-213 --to BENCH-1
iven core teardown C-213 \
  --piece item=HD-938,at=BENCH-1,tag=P-301,built-up=no \
  --piece item=EB-52,at=BENCH-1,tag=P-302 \
  --piece item=EB-47,at=BENCH-1,tag=P-303

say 'The journal that runs under the sliding disc. R is the band beside it, where nothing wears.'
iven read P-301 --feature disc --gauge M-01 \
  --in 'R0 0.9380 R90 0.9380 A0 0.9379 A90 0.9379 B0 0.9370 B90 0.9369 C0 0.9350 C90 0.9350'

say 'The drive-end seat. His fingers are oily: 0.9845 becomes 0.9854.'
refused 6 --person iven read P-301 --feature seat-a --gauge M-01 \
  --in 'A0 0.9845 A90 0.9854 B0 0.9845 B90 0.9845'
told 'digit_swap' '0.9845 in would agree'
say 'He looks at the thimble again and types it right.'
iven read P-301 --feature seat-a --gauge M-01 --in 'A0 0.9845 A90 0.9845 B0 0.9845 B90 0.9845'
iven read P-301 --feature keyseat --gauge PIN-1 --in 'A0 0.1880 B0 0.1881'
iven read P-302 --feature bore --gauge BG-1 --mm 'A0 52.006 A90 52.007 B0 52.006 B90 52.007'
iven read P-303 --feature bore --gauge BG-1 --mm 'A0 47.005 A90 47.006 B0 47.005 B90 47.005'

chapter '6. Bearings for the measured seats'
say 'What on the shelf goes on the drive-end seat as it measures? Oldest date code first.'
shown find bearing --piece P-301 --feature seat-a --class k5 --fits 3 --misses 1
told 'fits:' 'BRG-6205-C3'

say 'The other seat, by the bare micrometer. That gauge cannot tell ...'
iven read P-301 --feature seat-b --gauge M-01 --in 'A0 0.7875 A90 0.7876 B0 0.7875 B90 0.7875'
shown find bearing --piece P-301 --feature seat-b --class k5 --fits 2 --misses 1
told 'not proven'
say '... so iven sets the same micrometer on a gauge block and reads the same places again, as a
comparator. The newest reading of a place speaks; the older ones stay in the record.'
iven read P-301 --feature seat-b --gauge M-01C \
  --in 'A0 0.78760 A90 0.78765 B0 0.78760 B90 0.78760'
shown find bearing --piece P-301 --feature seat-b --class k5 --fits 2 --misses 1
told 'proven in' 'BRG-6204-C3'
if grep -qF 'not proven' "$work/answer"; then fail 'the better gauge proved nothing'; fi

say 'And the end bell: the outer ring has to slide.'
shown find bearing --piece P-302 --feature bore --hole-class H6 --fits 2 --misses 1

chapter '7. Where is it worn?'
iven assess P-301 --feature disc
told 'wear 0.0030 in' 'limit 0.0020 in' 'proven out' 'P-301: proposed recondition'
iven core regrade C-213 --grade C --reason 'journal under the disc lost 0.003 in'

say 'Everything else on that shaft is as it should be.'
for feature in seat-a seat-b keyseat; do
  quietly --person iven assess P-301 --feature "$feature"
  told 'P-301: proposed reuse'
done
shown assessments P-301

say 'Would new bushings cure it? mara asks for the smallest reading, 0.9350 in; pressing closes a
bushing in by 0.0004 to 0.0008 in. Nothing fits, and the nearest misses say what it would take.'
shown find bushing --journal 0.9350in --gauge M-01 --clearance 0.0010..0.0025in \
  --close-in-min 0.0004in --close-in-max 0.0008in --misses 3
told 'misses:' 'build the shaft up' 'ream or bore'

# --- Reconditioning ------------------------------------------------------------------------------

chapter '8. oto decides: grind the journal 0.010 under'
oto recon enqueue P-301 --feature disc --method regrind --target 0.9275..0.9280in \
  --due "$(day 3)" --at QUEUE-1 --reason '0.003 in worn at C'
shown recon list --state queued

say 'iven takes the next job; the earliest due comes first. The claim is his alone for two hours.'
iven recon claim --lease 2h
told P-301
job=$(grep -o 'J-[0-9]*' "$work/answer" | head -n 1)
refused 6 --person oto recon claim "$job"

say 'Ground, washed, soaked to room temperature, measured again.'
iven recon finish "$job" --token 1 --gauge M-01 \
  --in 'A0 0.9278 A90 0.9278 B0 0.9277 B90 0.9278 C0 0.9277 C90 0.9277' --at B-2
told to_stock

chapter '9. Another shaft: scrapped'
say 'P-213 came out of a pump that ran dry (C-205). The race spun on the seat; the seal lip cut a
groove. A lone reading far from its fellows is asked about ...'
iven read P-213 --feature seat-a --gauge M-01M --mm 'A0 24.88 A90 24.87 B0 24.90 B90 24.89'
refused 6 --person iven read P-213 --feature seal-land --gauge M-01M \
  --mm 'B0 21.78 A0 21.98 A90 21.98 C0 21.98 C90 21.97'
say '... but this one is right. He says why, and the reason stays with the reading.'
iven read P-213 --feature seal-land --gauge M-01M \
  --mm 'B0 21.78 A0 21.98 A90 21.98 C0 21.98 C90 21.97' \
  --sure 'lip groove at B, felt with a nail, read twice'
told 'lip groove at B'
iven assess P-213 --feature seat-a
oto piece scrap P-213 --reason spun_race --note 'seat-a 0.13 mm under and blued; cheaper to buy'

chapter '10. Bushings for the ground journal'
shown find bushing --piece P-301 --feature disc --clearance 0.0010..0.0025in \
  --close-in-min 0.0004in --close-in-max 0.0008in --misses 2
told 'fits:' L-202 'proven in'

# --- The kit -------------------------------------------------------------------------------------

chapter '11. The kit: all of it or nothing'
for tag in P-302 P-303; do
  iven assess "$tag"
  told "$tag: proposed reuse"
  iven piece accept "$tag" --at B-3
done
oto rebuild open --tag R-41 --description 'headstock drive, 2 hp' --core C-213 --due "$(day 9)"

say 'Two keys are wanted and L-402 has one. So nothing at all is held.'
kit=(--piece P-301 --piece P-302 --piece P-303 --lot L-111:1 --lot L-108:1 --lot L-202:2
  --lot L-508:1)
refused 6 --person iven hold R-41 "${kit[@]}" --lot L-402:2 --for 7d
told L-402
shown holds --rebuild R-41
say 'L-405 has plenty.'
iven hold R-41 "${kit[@]}" --lot L-405:2 --for 7d

say 'oto is promising the same end bell to another rebuild.'
oto rebuild open --tag R-42 --description 'headstock drive, 2 hp, second of the pair' \
  --due "$(day 20)"
refused 6 --person oto hold R-42 --piece P-302 --lot L-110:1 --for 3d
told 'P-302 is held for rebuild R-41 by iven until'
say 'There are others.'
shown piece list --item EB-52 --state in_stock --page-size 4
oto hold R-42 --piece P-220 --lot L-110:1 --for 3d

chapter '12. Fitted, and the books closed'
iven consume R-41
shown ledger --rebuild R-41
shown ledger --tag P-301
oto rebuild close R-41 --as shipped
shown rebuild list
shown piece show P-301

say 'What is left goes out as it came in, as CSV.'
typed tenths export lots '|' head
run "$tenths" export lots || fail "export failed"
head "$work/answer"

# --- Nine worn shafts ----------------------------------------------------------------------------

chapter '13. Nine worn shafts of one kind'
say 'The shop keeps its limits, steps, methods and costs as a file. oto takes the one that is built in
and writes down what work costs here, and which vendor does it; every answer then names the version that
it rests on.'
quietly --person oto location add PLATER --kind vendor --description 'hard chrome, by the canal'
quietly --person oto location add SPRAYER --kind vendor --description 'behind the mill'
quietly --person oto location add WELDER --kind vendor --description 'at the yard'
oto policy set --from "$data/policy.toml" --note 'what work costs us this year'
shown policy history

say 'Nine shafts of one kind are on the bench. iven has read the disc journal and both seats of each,
checked run-out between centres, felt for scores and looked for cracks.'
# A bushing in its place, pressed in, may have 0.0002 to 0.0030 in of clearance on this drive.
known=(--power 2hp --rpm 1725 --hardness 24 --end drive --use sliding_journal
  --replacement-cost '340.00 USD' --replacement-days 21 --mate-clearance 0.0002..0.0030in
  --close-in-min 0.0004in --close-in-max 0.0008in)
of_seat=(--hardness 24 --end drive --replacement-cost '340.00 USD' --replacement-days 21)
while IFS='|' read -r tag run_out score condemned disc seat_a seat_b found; do
  quietly --person iven piece add --tag "$tag" --item HD-750 --condition used --at BENCH-2 \
    --built-up no --note "$found"
  quietly --person iven read "$tag" --feature disc --gauge M-01C --in "$disc"
  quietly --person iven read "$tag" --feature seat-a --gauge M-01C --in "$seat_a"
  quietly --person iven read "$tag" --feature seat-b --gauge M-01C --in "$seat_b"
  quietly --person iven assess "$tag"
  printf '  %s  %s\n' "$tag" "$found"
done < <(rows shafts.psv)

say 'What can be done with W-3? Every way, what it costs and leaves, and why the others are out.'
shown recon propose W-3 --feature disc --run-out 0.0010in "${known[@]}"
told '1. regrind_2' 'is above the clean-up size' 'per side' 'governs'

say 'A seat for a bearing is never ground under: W-6 is built back to size.'
shown recon propose W-6 --feature seat-a --run-out 0.0005in "${of_seat[@]}"
told '1. build_up_' 'never ground undersize'

say 'The first of the ranking for each, and what oto decides: mostly that, and why where not.'
decided() {
  local tag=$1 feature=$2 first=$3
  shift 3
  local asked=(--run-out "${runs[$tag]}in" --score-depth "${scores[$tag]}in")
  if [[ -n ${cracks[$tag]} ]]; then asked+=(--condemned "${cracks[$tag]}"); fi
  if [[ $feature == disc ]]; then asked+=("${known[@]}"); else asked+=("${of_seat[@]}"); fi
  quietly --output csv recon propose "$tag" --feature "$feature" "${asked[@]}"
  grep -q "^1,$first" "$work/answer" || fail "$tag $feature: the first is not $first"
  quietly --person oto recon decide "$tag" --feature "$feature" "${asked[@]}" "$@"
}
declare -A runs scores cracks
while IFS='|' read -r tag run_out score condemned disc seat_a seat_b found; do
  runs[$tag]=$run_out scores[$tag]=$score cracks[$tag]=$condemned
done < <(rows shafts.psv)
quietly --person oto rebuild open --tag R-44 --description 'tailstock drive, waits for W-3' \
  --value '1800.00 USD'
decided W-1 disc reuse --repair reuse --at B-2
decided W-2 disc regrind_1 --repair regrind_1 --due "$(day 12)" --at QUEUE-1
decided W-3 disc regrind_2 --repair regrind_2 --due "$(day 12)" --at QUEUE-1 --rebuild R-44
decided W-4 disc build_up_weld --repair build_up_weld --due "$(day 30)" --at QUEUE-1
decided W-5 disc regrind_2 --repair regrind_2 --due "$(day 10)" --at QUEUE-1
decided W-6 seat-a build_up_hard_chrome --repair build_up_hard_chrome --due "$(day 30)" --at QUEUE-1
decided W-7 disc replace --repair scrap --reason 'one is enough in stock'
decided W-8 disc regrind_2 --repair regrind_2 --due "$(day 12)" --at QUEUE-1
decided W-9 disc replace --repair scrap --reason 'one is enough in stock'
shown recon decisions
told 'regrind_1' 'regrind_2' 'build_up_hard_chrome' 'build_up_weld' 'scrap'
shown ledger --tag W-9
told 'below_minimum_diameter'

say 'In which order? The wash and the crack test come first for all. oto plans them, and what is
released is what `recon claim` hands out next.'
oto recon plan wash --release
told 'one set-up' 'W-5'
# A worker takes the next of a machine so many times, and finishes each.
works_off() {
  local machine=$1 count=$2 tag token rest
  for ((; count > 0; count--)); do
    quietly --person iven --output csv recon claim --machine "$machine"
    IFS=, read -r tag token rest < <(tail -n 1 "$work/answer")
    quietly --person iven recon done "$tag" --token "$token"
    printf '  %s done at the %s\n' "$tag" "${machine//_/ }"
  done
}
works_off wash 6
works_off inspection_bench 6

say 'Now the grinder, in batches that share a set-up: W-3 is what rebuild R-44 waits for.'
oto recon plan cylindrical_grinder --release
told 'W-2' 'W-3' 'W-5' 'one set-up' 'batching saves'

say 'Every job has a sheet to go with it: each operation with its sizes, per side and on diameter.'
job=$(sed -n 's/^\(J-[0-9]*\),W-5,.*/\1/p' <("$tenths" --output csv recon list))
iven recon claim "$job"
shown recon show "$job"
told 'finish_grind'
iven recon traveler "$job" --to "$work/traveler.html"
grep -q 'per side' "$work/traveler.html" || fail 'the traveler does not say per side'

# --- The end -------------------------------------------------------------------------------------

chapter '14. Does it all add up?'
# shellcheck disable=SC2016  # the name of the variable is what is shown
printf '$ tenthsd verify --database "$DATABASE"\n'
"$tenthsd" verify --database "$database" || fail 'verify found a break'

kill -TERM "$server"
code=0
wait "$server" || code=$?
server=
((code == 0)) || fail "tenthsd ended with exit code $code"
printf '\nThe server stopped when told. Every step came as expected, in %s seconds.\n' \
  "$((SECONDS - started))"
