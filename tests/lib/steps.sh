# Runs named steps, counts what passed and failed, and sums it up. Sourced by run.sh, which sets
# $work to a temporary folder.

passed=0
failed=0
failed_steps=()

# Reads the closing lines of cargo test and pytest and prints "PASSED FAILED".
count_tests() {
  awk '
    /^test result: / {
      for (i = 2; i <= NF; i++) {
        if ($i == "passed;") passed += $(i - 1)
        if ($i == "failed;") failed += $(i - 1)
      }
    }
    /^=* ?[0-9]+ (passed|failed|error)/ && / in [0-9.]+s/ {
      for (i = 2; i <= NF; i++) {
        if ($i ~ /^passed/) passed += $(i - 1)
        if ($i ~ /^(failed|error)/) failed += $(i - 1)
      }
    }
    END { print passed + 0, failed + 0 }
  ' "$1"
}

# step NAME COMMAND...: runs the command in a subshell and goes on if it fails. A step that ran tests
# counts as its tests, any other as one. Never call it in a condition: that switches errexit off
# inside the command too.
step() {
  local name=$1 log="$work/step.log" start=$SECONDS status step_passed step_failed word=ok
  shift
  printf '\n== %s\n' "$name"
  set +e
  (
    set -e
    "$@"
  ) 2>&1 | tee "$log"
  status=${PIPESTATUS[0]}
  set -e
  read -r step_passed step_failed < <(count_tests "$log")
  if ((status != 0)); then
    word=FAILED
    failed_steps+=("$name")
    if ((step_failed == 0)); then step_failed=1; fi
  elif ((step_passed + step_failed == 0)); then
    step_passed=1
  fi
  passed=$((passed + step_passed))
  failed=$((failed + step_failed))
  printf -- '-- %s: %s in %d s\n' "$name" "$word" $((SECONDS - start))
}

# require NAME: ends the run if the step of that name failed, since the ones after it need it.
require() {
  local step_name
  for step_name in "${failed_steps[@]}"; do
    if [[ $step_name == "$1" ]]; then summary; fi
  done
}

# Prints what failed and the closing line, and ends the run.
summary() {
  local step_name
  printf '\n'
  for step_name in "${failed_steps[@]}"; do
    printf 'failed step: %s\n' "$step_name"
  done
  printf 'took %d s\n' "$SECONDS"
  printf '%d passed, %d failed\n' "$passed" "$failed"
  if ((failed > 0 || ${#failed_steps[@]} > 0)); then exit 1; fi
  exit 0
}
