"""The open microphone: sound in, a pitch trace while one sings, and the take when one has sung."""
