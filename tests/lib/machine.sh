# What the tests need of the machine: PostgreSQL's programs and a Python environment of our own.
# Sourced by run.sh, which has changed to the root of the repository.

venv=$PWD/tests/.venv

# Prints the newest folder of PostgreSQL's server programs, or nothing.
postgres_programs() {
  local found
  found=$(compgen -G '/usr/lib/postgresql/*/bin/initdb' | sort -V | tail -n 1 || true)
  if [[ -z $found ]]; then found=$(command -v initdb || true); fi
  if [[ -n $found ]]; then dirname "$found"; fi
}

# Installs Debian packages without a question and without a PostgreSQL cluster of their own.
install_packages() {
  local settings=/etc/postgresql-common/createcluster.conf
  export DEBIAN_FRONTEND=noninteractive
  apt-get update -q
  if [[ " $* " == *" postgresql "* ]]; then
    # First, because its settings file must be its own when postgresql reads it.
    apt-get install -q -y --no-install-recommends postgresql-common
    sed -ri 's/^#?(create_main_cluster) .*$/\1 = false/' "$settings"
  fi
  apt-get install -q -y --no-install-recommends "$@"
}

prepare_machine() {
  local missing=()
  if [[ -z $(postgres_programs) ]]; then missing+=(postgresql); fi
  if ! python3 -c 'import ensurepip, venv' 2>/dev/null; then missing+=(python3 python3-venv); fi
  if ((${#missing[@]} > 0)); then
    if ((EUID != 0)); then
      echo "missing: ${missing[*]}; install them, or run this as root" >&2
      return 1
    fi
    install_packages "${missing[@]}"
  fi
  echo "PostgreSQL: $("$(postgres_programs)/postgres" --version)"
  echo "Python: $(python3 --version)"
  echo "Rust: $(cargo --version), $(rustc --version)"
}

# Installs the pinned requirements once; a copy of the list says which are in.
prepare_python() {
  local stamp=$venv/installed.txt
  if [[ -x $venv/bin/python ]] && cmp -s tests/requirements.txt "$stamp"; then
    echo "already there"
    return 0
  fi
  rm -rf "$venv"
  python3 -m venv "$venv"
  "$venv/bin/pip" install --quiet --disable-pip-version-check -r tests/requirements.txt
  cp tests/requirements.txt "$stamp"
}
