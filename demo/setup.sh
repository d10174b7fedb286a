# What both set-up scripts share; read with `.`, from the project's folder.

say() { printf '%s\n' "lastbar set-up: $1" >&2; }

as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null; then sudo "$@"; else
        say "this needs root: $*"
        return 1
    fi
}

# FluidSynth (sound) and PortAudio (playback). Nothing is asked of the package manager when both
# can be loaded already.
system_libraries() {
    case "$(uname -s)" in
        Darwin)
            for formula in fluid-synth portaudio; do
                brew list --versions "$formula" >/dev/null 2>&1 || brew install "$formula" >&2 ||
                    say "brew could not install $formula; the program will say what is missing"
            done ;;
        *)
            if command -v dpkg-query >/dev/null; then
                apt_libraries
            else
                say "install FluidSynth's and PortAudio's libraries with your package manager"
            fi ;;
    esac
}

apt_libraries() {
    missing=""
    for package in libfluidsynth3 libportaudio2 python3-venv; do
        # a Python that is not the system's brings venv itself
        [ "$package" = python3-venv ] && python3 -c 'import ensurepip' 2>/dev/null && continue
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' ||
            missing="$missing $package"
    done
    [ -z "$missing" ] && return 0
    say "installing$missing"
    # without recommends: they would pull in more than half a gigabyte
    # shellcheck disable=SC2086  # one word a package
    as_root sh -c "apt-get update -qq && apt-get install -y -qq --no-install-recommends$missing" >&2 ||
        say "could not install$missing; the program will say what is missing"
}

# What only some tests want, and skip without: a foreign SoundFont (6 MB) and a sound server to
# listen to (a few MB).
test_libraries() {
    command -v dpkg-query >/dev/null || return 0
    missing=""
    for package in timgm6mb-soundfont pulseaudio pulseaudio-utils libasound2-plugins; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' ||
            missing="$missing $package"
    done
    [ -z "$missing" ] && return 0
    say "installing$missing for the tests"
    # shellcheck disable=SC2086  # one word a package
    as_root sh -c "apt-get update -qq && apt-get install -y -qq --no-install-recommends$missing" >&2 ||
        say "could not install$missing; the tests that want them are skipped"
}

# The first Python from 3.11 up.
python_command() {
    for name in python3 python3.13 python3.12 python3.11 python3.14; do
        if command -v "$name" >/dev/null &&
            "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            printf '%s' "$name"
            return 0
        fi
    done
    say "Python 3.11 or newer is needed: install it and run this again"
    return 1
}

# environment EXTRAS: a virtual environment in .venv with the package and its extras, made or mended
# only when pyproject.toml is newer than what is there.
environment() {
    ready=".venv/.ready$1"
    if [ -f "$ready" ] && [ ! pyproject.toml -nt "$ready" ]; then
        return 0
    fi
    python=$(python_command)
    [ -x .venv/bin/python ] || "$python" -m venv .venv
    say "installing the package into .venv"
    # the installer talks a lot; what it said matters only when it failed
    if ! .venv/bin/python -m pip install --disable-pip-version-check --editable ".$1" \
        >.venv/install.log 2>&1; then
        cat .venv/install.log >&2
        say "the package could not be installed: see above"
        return 1
    fi
    touch "$ready"
}
