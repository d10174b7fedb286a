"""The quiz: questions, grading, schedule, history, and the programs that ask."""
