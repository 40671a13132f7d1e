"""How the delta on Whisper base for the loud shop was made, and how to make it again.

Torch is needed here and nowhere else: `pip install torch soundfile numpy soxr` into an environment of its own.
In this order, each with its own help:

    python -m assistant.evaluate.training.texts OUT.json      what is said: words, numbers, commands (from a seed)
    python -m assistant.evaluate.training.corpus OUT          the texts in synthetic voices, as a corpus
    python -m assistant.evaluate.training.kokoro ...          more voices: jobs, then the sound
    python -m assistant.evaluate.training.pack ...            words, base weights, corpora and noise, packed in a folder
    python -m assistant.evaluate.training.train DATA OUT      the training, minutes on one GPU
    python -m assistant.evaluate.training.keep ...            the delta as the product keeps it, with its account
"""
