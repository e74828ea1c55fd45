/**
 * `smirr completion bash|zsh`: prints the script that completes commands, options and their words in
 * a shell. The script hands the words typed so far to `smirr --complete`, which prints one candidate
 * a line; where there is none, the shell completes file names.
 */
import type { Argv } from 'yargs';
import type { Terminal } from '../terminal.js';
import type { Example } from './command.js';

const BASH = `# smirr: completion for bash. Add it once: smirr completion bash >> ~/.bashrc
_smirr_words() {
  local current="\${COMP_WORDS[COMP_CWORD]}" candidates IFS=$'\\n'
  candidates="$("\${COMP_WORDS[0]}" --complete "\${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null)"
  COMPREPLY=($(compgen -W "$candidates" -- "$current"))
}
complete -o default -F _smirr_words smirr
`;

const ZSH = `#compdef smirr
# smirr: completion for zsh. Add it once: smirr completion zsh >> ~/.zshrc (after compinit)
_smirr_words() {
  local -a candidates
  candidates=("\${(@f)$("\${words[1]}" --complete "\${(@)words[2,CURRENT]}" 2>/dev/null)}")
  if [[ -n "\${candidates[1]}" ]]; then
    compadd -- "\${candidates[@]}"
  else
    _files
  fi
}
compdef _smirr_words smirr
`;

const SCRIPTS = { bash: BASH, zsh: ZSH } as const;

/** The options of `smirr completion`. */
export interface CompletionOptions {
  readonly shell: keyof typeof SCRIPTS;
}

/** How the scripts are installed. */
export const examples: readonly Example[] = [
  ['smirr completion bash >> ~/.bashrc', 'for bash; open a new shell afterwards'],
  ['smirr completion zsh >> ~/.zshrc', 'for zsh; below the line with compinit'],
];

/** Declares the positional. */
export function builder(yargs: Argv): Argv<CompletionOptions> {
  return yargs.positional('shell', {
    choices: ['bash', 'zsh'] as const,
    demandOption: true,
    describe: 'which shell',
  });
}

/** Prints the script. */
export function handler(options: CompletionOptions, terminal: Terminal): number {
  terminal.data(SCRIPTS[options.shell]);
  return 0;
}
