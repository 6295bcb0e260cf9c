package android.security.keystore;

import java.security.spec.AlgorithmParameterSpec;

public final class KeyGenParameterSpec implements AlgorithmParameterSpec {
    public final String alias;
    public final int purposes;
    public String[] modes = {}, paddings = {};
    public int size = -1;

    private KeyGenParameterSpec(String alias, int purposes) {
        this.alias = alias;
        this.purposes = purposes;
    }

    public static final class Builder {
        private final KeyGenParameterSpec spec;

        public Builder(String keystoreAlias, int purposes) {
            spec = new KeyGenParameterSpec(keystoreAlias, purposes);
        }

        public Builder setBlockModes(String... blockModes) {
            spec.modes = blockModes;
            return this;
        }

        public Builder setEncryptionPaddings(String... paddings) {
            spec.paddings = paddings;
            return this;
        }

        public Builder setKeySize(int keySize) {
            spec.size = keySize;
            return this;
        }

        public KeyGenParameterSpec build() {
            return spec;
        }
    }
}
