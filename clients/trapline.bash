# SPDX-License-Identifier: Apache-2.0
# Completion of trapline for bash: commands, options, verbs, and the nodes of the configuration.

_trapline_config() {
    local i
    for ((i = 1; i < COMP_CWORD; i++)); do
        if [ "${COMP_WORDS[i]}" = -C ]; then
            echo "${COMP_WORDS[i + 1]}"
            return
        fi
    done
    echo "${TRAPLINE_CONFIG-}"
}

# Ids of that kind in stations.yaml.
_trapline_nodes() {
    local folder
    folder=$(_trapline_config)
    [ -r "$folder/stations.yaml" ] || return
    sed -n "s/^ *- *{ *id: *\([a-z0-9-]*\), *kind: *$1.*/\1/p" "$folder/stations.yaml"
}

_trapline() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
    local stations='engine deck approach platform primary bridge wires tracks aid gear-officer
        barricade safety'
    local words verb=''
    COMPREPLY=()
    case $before in
    -C)
        mapfile -t COMPREPLY < <(compgen -d -- "$word")
        return
        ;;
    --as)
        mapfile -t COMPREPLY < <(compgen -W "$(_trapline_nodes viewer)" -- "$word")
        return
        ;;
    --unit)
        mapfile -t COMPREPLY < <(compgen -W \
            "$(_trapline_nodes engine | sed 's/.*-//')" -- "$word")
        return
        ;;
    --nmea | --feed | --record | --on-alert | --lamp | --metrics | --what-if | --merge | --against)
        mapfile -t COMPREPLY < <(compgen -f -- "$word")
        return
        ;;
    esac
    if [ "$COMP_CWORD" -eq 1 ]; then
        words="$stations board show watch explain plan log check keys --help --version"
    else
        case ${COMP_WORDS[1]} in
        engine) words='--unit -C --do --confirm --join --stay --lines --incarnation-above --feed
            --on-alert --metrics --help' ;;
        bridge) words='-C --do --confirm --join --stay --lines --incarnation-above --nmea
            --on-alert --metrics --help' ;;
        board) words='-C --as --for --help' ;;
        show) words='-C --as --why --json --help' ;;
        watch) words='-C --as --why --json --for --on-alert --lamp --help' ;;
        explain) words='-C --json all --help' ;;
        plan) words='wind arrest aid wave-off interval bulletin -C --json --help' ;;
        log) words='passes alerts wires who overrides faults seconds figures report chapters replay
            verify compare merge -C --record --json --csv --help' ;;
        check) words='-C --help' ;;
        keys)
            [ "$COMP_CWORD" -eq 2 ] || verb=${COMP_WORDS[2]}
            case $verb in
            show) words="$(_trapline_nodes '[a-z]') -C --json --help" ;;
            check) words='-C --against --json --help' ;;
            new) words="$(_trapline_nodes '[a-z]') -C --all --epoch --help" ;;
            rotate | revoke) words="$(_trapline_nodes '[a-z]') -C --help" ;;
            *) words='new list rotate revoke show check -C --help' ;;
            esac
            ;;
        *)
            case " ${stations//$'\n'/ } " in
            *" ${COMP_WORDS[1]} "*) words='-C --do --confirm --join --stay --lines
                --incarnation-above --feed --on-alert --metrics --help' ;;
            esac
            ;;
        esac
    fi
    mapfile -t COMPREPLY < <(compgen -W "${words-}" -- "$word")
}
complete -F _trapline trapline
