"""The texts of ``--help``."""

SUMMARY = "Complete, checked, typeset solutions of direct-current circuits."

EXAMPLE = """\
circuit "Two cells keep a night light on"
I1: A  (-E1+)  (R1)  B
I2: A  (-E2+)  (R2)  B
I3: B  (lamp L3)  A
E1 = 4.5 V;  E2 = 3 V
R1, R2 = 1 ohm;  L3 = 7 ohm
ask currents
"""

TEACHING = f"""\
a circuit file
  Follow the wires with a finger and write down what you pass: points by name,
  parts in brackets, the terminals of a battery by their signs. Each line is one
  current; its arrow runs the way you walk. Save this as light.circuit:

{"".join(f"      {line}" for line in EXAMPLE.splitlines(keepends=True))}
  and run   loopwalk solve light.circuit
  A value you leave out stays a letter. # starts a comment.

what is written
  tex       a LaTeX document of your own to edit     build/light.tex
  fragment  the same for \\input into a book          build/light.fragment.tex
  pdf       by a TeX, else by the embedded engine    build/light.pdf
  typst     the same page for Typst                  build/light.typ
  html      a page for the web that stands alone     build/light.html
  markdown  for notebooks and sites of notes         build/light.md
  text      for reading in a terminal                build/light.txt
  json      answers for other programs               build/light.json
  proof     every step, for a checker of its own:    build/light.proof.json
            python -m derive.checker FILE
  png       a picture of each page                   build/light.page-1.png
  svg       the same to scale; by loopwalk draw      build/light.page-1.svg
            the figure, for the web or to edit       build/light.figure.svg
  tikz      the figure, to \\input into a book        build/light.figure.tex
  (loopwalk draw writes a pdf too, the figure alone, to build/light.figure.pdf)
  Every equation is proved by an independent checker before it is written.
  A file is overwritten only if Loopwalk made it; what is made to be edited (all
  but pdf, png, text and json) only while nobody has edited it.
  What is unchanged is not written again; --rebuild does so all the same.

exit status
  0  done
  1  a circuit has errors; they are shown with line and column
  2  wrong usage, or a file that cannot be read or must not be overwritten
  3  an engine failed, or the disk did; what it said is shown
"""

SOLVE = """\
Write the worked solution of each circuit, by default a LaTeX document and a PDF
in the folder build, and print the answers. A file called - is standard input.
"""

SOLVE_EXAMPLES = """\
for example
  loopwalk solve light.circuit                        build/light.tex and .pdf
  loopwalk solve light.circuit --to text --out -      to read it here
  loopwalk solve chapter3/*.circuit --to fragment --out book/solutions
"""

ENGINES = """\
Tell what can set a PDF on this machine, and how to install what is missing.
"""

COMPLETE = """\
Print what lets a shell complete the command when Tab is pressed. For bash:
  mkdir -p ~/.local/share/bash-completion/completions
  loopwalk complete bash > ~/.local/share/bash-completion/completions/loopwalk
for zsh, into a folder of its fpath: loopwalk complete zsh > ~/.zfunc/_loopwalk
"""

FORMULA = """\
Print the formula of every current in letters, in a form that Python reads.
A file called - is standard input.
"""

DRAW = """\
Write the figure of each circuit, by default as SVG in the folder build. What is
not said in the file is laid out by the program; place A at 0 2 in the file puts
the point A where you want it. A circuit that has no solution is drawn all the
same, but for its potentials and powers. A file called - is standard input.
"""

DRAW_EXAMPLES = """\
for example
  loopwalk draw light.circuit                         build/light.figure.svg
  loopwalk draw light.circuit --values --width 90     with values, 90 mm wide
  loopwalk draw light.circuit --show loops            every loop with its walk
  loopwalk draw chapter3/*.circuit --to tikz,pdf --out book/figures
"""
