# Completion of twolimb for bash.
#
# The options of a command, and what follows each, are read from its own --help: they cannot differ.
# What follows stands there in capitals where it is to be filled in.

_twolimb_help() { # COMMAND: its options, one a line, with what follows
    local program=${COMP_WORDS[0]/#~\//$HOME/}
    [[ $(type -t -- "$program") == file ]] || program=twolimb
    "$program" "$1" --help 2>/dev/null |
        sed -nE 's/^ +((-[a-z]), )?(--[a-z-]+)( [^ ]+)?( .*)?$/\3\4\n\2\4/p' | grep '^-'
}

_twolimb_words() { # WORDS: those that begin with what is typed
    mapfile -t COMPREPLY < <(compgen -W "$1" -- "$current")
}

_twolimb_paths() { # ENDING: folders, and the files that end so; "/": folders alone
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(
        compgen -d -- "$current"
        [[ $1 == / ]] || compgen -f -X "!*$1" -- "$current"
    )
    mapfile -t COMPREPLY < <(printf '%s\n' "${COMPREPLY[@]}" | sort -u | sed '/^$/d')
}

_twolimb_value() { # COMMAND OPTION: what may follow the option; fails where nothing has to
    case $2 in
    --holding) _twolimb_words 'auto free fixed altaz'; return ;;
    --mirror) _twolimb_words 'auto yes no'; return ;;
    esac
    local follows
    follows=$(_twolimb_help "$1" | sed -n -- "s/^$2 //p")
    case $follows in
    '' | \[*) return 1 ;;
    FOLDER) _twolimb_paths / ;;
    FILE.csv) _twolimb_paths .csv ;;
    FILE) _twolimb_paths '' ;;
    *) _twolimb_words "$(grep '^[a-z]*$' <<<"$follows")" ;;
    esac
}

_twolimb() {
    local command=${COMP_WORDS[1]} current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
    COMPREPLY=()
    if ((COMP_CWORD == 1)); then
        _twolimb_words 'analyse predict simulate --help --version'
        return
    fi
    case $command in
    analyse | predict | simulate) ;;
    *) return ;;
    esac
    # Bash takes --option=value for three words.
    if [[ $current == '=' ]]; then
        current=
    elif [[ $before == '=' ]]; then
        before=${COMP_WORDS[COMP_CWORD - 2]}
    fi
    if [[ $before == -* ]] && _twolimb_value "$command" "$before"; then
        return
    fi
    if [[ $current == -* || $command == predict ]]; then
        _twolimb_words "$(_twolimb_help "$command" | sed 's/ .*//' | uniq)"
    elif [[ $command == analyse ]]; then
        _twolimb_paths ''
    elif ((COMP_CWORD == 2)); then
        _twolimb_paths .json
    else
        _twolimb_paths /
    fi
}

complete -F _twolimb twolimb
